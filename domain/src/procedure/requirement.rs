//! What one revision of a procedure fixes or permits. A revision is never changed: another one
//! follows it.

use std::fmt;

use thiserror::Error;

use super::marking::Written;
use crate::class::ElectrodeClass;
use crate::part::Arrangement;
use crate::size::{CupNumber, Diameter, RodLength};

/// The angle of a ground tip in degrees, included, from 10 to 180.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TipAngle(u8);

/// An angle to which no tip is ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("{0} degrees is no tip angle; give the included angle, 10 to 180")]
pub struct TipAngleError(
    /// The angle given.
    pub i64,
);

impl TipAngle {
    /// An included angle.
    ///
    /// # Errors
    /// [`TipAngleError`] outside 10 to 180 degrees.
    pub fn new(degrees: i64) -> Result<Self, TipAngleError> {
        match u8::try_from(degrees) {
            Ok(angle @ 10..=180) => Ok(Self(angle)),
            Ok(_) | Err(_) => Err(TipAngleError(degrees)),
        }
    }

    /// The included angle in degrees.
    pub fn degrees(self) -> u8 {
        self.0
    }
}

impl fmt::Display for TipAngle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} degrees included", self.0)
    }
}

/// What a revision permits. A dimension that is absent is not fixed; one with a list permits what is
/// on the list and nothing else.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Requirement {
    /// Electrode classes by name.
    pub classes: Option<Vec<Written<ElectrodeClass>>>,
    /// Electrodes of the general class, by the grade that the maker declares.
    pub grades: Option<Vec<String>>,
    /// Electrode diameters.
    pub diameters: Option<Vec<Written<Diameter>>>,
    /// The length of the electrode as delivered.
    pub length: Option<RodLength>,
    /// How the tip is ground: a fact to show, which no part is held against.
    pub tip_angle: Option<TipAngle>,
    /// Cup numbers.
    pub cups: Option<Vec<CupNumber>>,
    /// Arrangements of the front end.
    pub arrangements: Option<Vec<Arrangement>>,
    /// Shielding gases, as designated.
    pub gases: Option<Vec<String>>,
    /// Filler rods, by classification.
    pub fillers: Option<Vec<String>>,
    /// Whether one permitted part may take the place of another, and a marking of the other system
    /// of names that of the one in which the procedure is written. Without it every electrode has to
    /// be marked as the procedure is written, or have an equivalence signed for its marking.
    pub substitution: bool,
}

/// Why a revision permits nothing, or cannot mean what it says.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RequirementError {
    /// Nothing that a part could be held against.
    #[error(
        "fixes nothing that a part can be held against; list the classes, diameters, cups, arrangements, gases or fillers that the procedure permits"
    )]
    Nothing,
    /// A list without an entry permits nothing.
    #[error(
        "is an empty list, which permits nothing; list what the procedure permits, or leave it out if it is not fixed"
    )]
    Empty(&'static str),
    /// The general class by itself.
    #[error(
        "WG has no fixed composition; permit it by the grade that its maker declares, in the list of grades"
    )]
    General,
    /// An electrode that nobody can name.
    #[error("an unidentified electrode is never permitted; list classes by name")]
    Unidentified,
    /// An empty or overlong text.
    #[error("must have 1 to 120 printable characters")]
    Text(&'static str),
}

/// The longest grade, mixture or classification, in characters.
const TEXT_MAX: usize = 120;

impl RequirementError {
    /// The field that is at fault; none for the whole.
    pub fn field(&self) -> Option<&'static str> {
        match self {
            Self::Nothing => None,
            Self::Empty(field) | Self::Text(field) => Some(field),
            Self::General | Self::Unidentified => Some("classes"),
        }
    }
}

impl Requirement {
    /// The same, once it is known to permit something.
    ///
    /// # Errors
    /// [`RequirementError`]: an empty list, nothing fixed at all, or a class that names nothing.
    pub fn validated(self) -> Result<Self, RequirementError> {
        let told = [
            ("classes", self.classes.as_ref().map(Vec::len)),
            ("grades", self.grades.as_ref().map(Vec::len)),
            ("diameters", self.diameters.as_ref().map(Vec::len)),
            ("cups", self.cups.as_ref().map(Vec::len)),
            ("arrangements", self.arrangements.as_ref().map(Vec::len)),
            ("gases", self.gases.as_ref().map(Vec::len)),
            ("fillers", self.fillers.as_ref().map(Vec::len)),
        ];
        if let Some((field, _)) = told.iter().find(|(_, length)| *length == Some(0)) {
            return Err(RequirementError::Empty(field));
        }
        let fixes = told.iter().any(|(_, length)| length.is_some());
        if !fixes && self.length.is_none() {
            return Err(RequirementError::Nothing);
        }
        let has = |class| {
            let mut classes = self.classes.iter().flatten();
            classes.any(|written| written.value == class)
        };
        if has(ElectrodeClass::Wg) {
            return Err(RequirementError::General);
        }
        if has(ElectrodeClass::Unidentified) {
            return Err(RequirementError::Unidentified);
        }
        let texts = [
            ("grades", &self.grades),
            ("gases", &self.gases),
            ("fillers", &self.fillers),
        ];
        let odd = texts
            .iter()
            .find(|(_, texts)| texts.iter().flatten().any(|text| !is_label(text)));
        match odd {
            Some((field, _)) => Err(RequirementError::Text(field)),
            None => Ok(self),
        }
    }

    /// Whether it says anything of the class of an electrode.
    pub fn fixes_class(&self) -> bool {
        self.classes.is_some() || self.grades.is_some()
    }
}

fn is_label(text: &str) -> bool {
    let length = text.chars().count();
    !text.trim().is_empty() && length <= TEXT_MAX && !text.chars().any(char::is_control)
}
