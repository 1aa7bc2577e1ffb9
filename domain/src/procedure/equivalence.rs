//! An equivalence: the statement, signed by the person responsible for a procedure, that a marking as
//! printed is a named thing. It holds for one revision, and only for what that revision permits.

use thiserror::Error;

use super::marking::{Marking, squeezed};
use super::requirement::Requirement;
use super::rule;
use crate::class::ElectrodeClass;
use crate::size::Diameter;

/// A class and a diameter by name, with the maker's declared grade for the general class.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedThing {
    /// The class.
    pub class: ElectrodeClass,
    /// The diameter.
    pub diameter: Diameter,
    /// The grade that the maker declares; of the general class only.
    pub grade: Option<String>,
}

/// That a marking is a named thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Equivalence {
    /// Its name, such as `EQ-1`.
    pub id: String,
    /// The marking as printed.
    pub marking: Marking,
    /// What it is said to be.
    pub thing: NamedThing,
}

/// Why an equivalence cannot be signed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EquivalenceError {
    /// What is named is not permitted by the procedure, so signing it would change nothing.
    #[error("{0}; have the procedure revised")]
    NotPermitted(String),
    /// The marking reads as another size or class than what is named.
    #[error(
        "the marking reads {read}, which is no other name of {named}; look at the packet again, or have the procedure revised"
    )]
    Differs {
        /// What is printed.
        read: String,
        /// What it was said to be.
        named: String,
    },
    /// A marking in which neither a size nor a class can be read.
    #[error("no size or class can be read in \"{0}\"; write it as printed, such as 3/32 in EWLa-2")]
    Unreadable(String),
    /// A grade where it means nothing, or none where it is needed.
    #[error("{0}")]
    Grade(&'static str),
}

impl EquivalenceError {
    /// The field that is at fault.
    pub fn field(&self) -> &'static str {
        match self {
            Self::NotPermitted(_) => "class",
            Self::Differs { .. } | Self::Unreadable(_) => "marking",
            Self::Grade(_) => "grade",
        }
    }
}

impl NamedThing {
    /// In words: `2.4 mm WLa20`.
    pub fn describe(&self) -> String {
        let grade = self.grade.as_deref();
        let grade = grade.map_or_else(String::new, |grade| format!(" {}", grade.trim()));
        format!("{} {}{grade}", self.diameter, self.class)
    }

    /// Whether an electrode is that thing.
    pub(super) fn is(
        &self,
        (class, diameter): (ElectrodeClass, Diameter),
        grade: Option<&str>,
    ) -> bool {
        let same_grade = match (&self.grade, grade) {
            (Some(own), Some(grade)) => squeezed(own) == squeezed(grade),
            (None, _) => class != ElectrodeClass::Wg,
            (Some(_), None) => false,
        };
        self.class == class && self.diameter == diameter && same_grade
    }
}

impl Equivalence {
    /// The same, once it is known that signing it says something that the revision permits: a sign-off
    /// confirms a name, and never widens a procedure.
    ///
    /// # Errors
    /// [`EquivalenceError`].
    pub fn checked(self, requirement: &Requirement) -> Result<Self, EquivalenceError> {
        let (class, grade) = (self.thing.class, self.thing.grade.as_deref());
        match (class == ElectrodeClass::Wg, grade) {
            (true, None) => {
                let why =
                    "missing; the general class is known by the grade that its maker declares";
                return Err(EquivalenceError::Grade(why));
            }
            (false, Some(_)) => {
                let why = "only the general class WG has a grade; leave it out";
                return Err(EquivalenceError::Grade(why));
            }
            (true, Some(_)) | (false, None) => {}
        }
        let named = self.thing.describe();
        let refused = rule::class(requirement, class, grade)
            .or_else(|| rule::diameter(requirement, self.thing.diameter));
        if let Some(reason) = refused {
            let why = format!("{named} is not permitted: {reason}");
            return Err(EquivalenceError::NotPermitted(why));
        }
        let read = &self.marking;
        if read.sizes().is_empty() && read.classes().is_empty() && read.odd_size().is_none() {
            return Err(EquivalenceError::Unreadable(read.as_str().to_owned()));
        }
        match rule::contradiction(read, class, self.thing.diameter) {
            Some(read) => Err(EquivalenceError::Differs { read, named }),
            None => Ok(self),
        }
    }

    /// In words: `3/32 in EWLa-2 = 2.4 mm WLa20`.
    pub fn describe(&self) -> String {
        format!("{} = {}", self.marking.as_str(), self.thing.describe())
    }
}
