//! Equivalences: that a marking as printed is a named thing, signed for one revision of a procedure.
//! A signature is a fact and is never changed; a withdrawal is another one.

use chrono::{DateTime, FixedOffset, Utc};
use domain::class::ElectrodeClass;
use domain::code::Code;
use domain::procedure::NamedThing;
use domain::size::Diameter;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{Checker, Violation};

/// What the person responsible for a procedure signs.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewEquivalence {
    /// Its name; the next free one, such as `EQ-1`, unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "EQ-1")]
    pub equivalence: Option<String>,
    /// The marking as printed.
    #[schema(example = "3/32 in EWLa-2")]
    pub marking: String,
    /// The class that it is, which the revision permits.
    #[schema(example = "WLa20")]
    pub class: String,
    /// The diameter that it is, which the revision permits.
    #[schema(example = "2.4 mm")]
    pub diameter: String,
    /// Of the general class WG: the grade that the maker declares.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grade: Option<String>,
    /// Who signs, as the shop calls them.
    #[schema(example = "owner")]
    pub signed_by: String,
    /// Who asked for it; the signer unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub asked_by: Option<String>,
    /// When it was signed, with the offset from UTC; now unless told, and never later.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "2026-02-12T09:00:00-04:00")]
    pub signed_at: Option<DateTime<FixedOffset>>,
}

/// A signed equivalence.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Equivalence {
    /// Its name.
    pub equivalence: String,
    /// The code of the procedure.
    pub procedure: String,
    /// The revision that it was signed for; it holds for no other.
    pub revision: i64,
    /// The marking as printed.
    pub marking: String,
    /// The class that it is.
    pub class: String,
    /// The diameter that it is.
    pub diameter: String,
    /// The grade that the maker declares, of the general class.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grade: Option<String>,
    /// Who signed.
    pub signed_by: String,
    /// Who asked for it.
    pub asked_by: String,
    /// Whether the signer had asked for it: an owner who works alone may, and the record says so.
    pub same_person: bool,
    /// When it was signed.
    pub signed_at: DateTime<FixedOffset>,
    /// When it was entered.
    pub recorded_at: DateTime<Utc>,
    /// Its withdrawal, since when it does not hold any more.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub withdrawal: Option<Withdrawal>,
    /// The signature in words.
    #[schema(example = "EQ-1: 3/32 in EWLa-2 = 2.4 mm WLa20, signed 12 Feb 2026 by owner.")]
    pub says: String,
}

/// Takes back a signature.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewWithdrawal {
    /// Who withdraws it, as the shop calls them.
    #[schema(example = "owner")]
    pub withdrawn_by: String,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// That a signature was taken back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Withdrawal {
    /// Who withdrew it.
    pub withdrawn_by: String,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// When.
    pub withdrawn_at: DateTime<Utc>,
}

/// A page of signed equivalences.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct EquivalencePage {
    /// The equivalences, first entered first; those that were withdrawn among them.
    pub equivalences: Vec<Equivalence>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names an equivalence.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct EquivalencePath {
    /// The code of the procedure.
    pub procedure: String,
    /// The number of the revision.
    pub revision: String,
    /// The name of the equivalence.
    pub equivalence: String,
}

impl NewEquivalence {
    /// What the marking is said to be, or everything that is wrong. Whether the revision permits it is
    /// not asked here.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<NamedThing, Vec<Violation>> {
        let mut checker = Checker::default();
        if let Some(name) = &self.equivalence {
            checker.take("equivalence", Code::parse("equivalence", name));
        }
        said(&mut checker, "marking", &self.marking, "give it as printed");
        said(&mut checker, "signed_by", &self.signed_by, "say who signs");
        checker.text("asked_by", self.asked_by.as_deref(), 80);
        checker.text("grade", self.grade.as_deref(), 120);
        let class = checker.take("class", ElectrodeClass::parse(&self.class));
        let diameter = checker.take("diameter", Diameter::parse(&self.diameter));
        checker.finish()?;
        let (Some(class), Some(diameter)) = (class, diameter) else {
            return Err(Vec::new());
        };
        let grade = self.grade.as_deref().map(|grade| grade.trim().to_owned());
        Ok(NamedThing {
            class,
            diameter,
            grade,
        })
    }
}

impl NewWithdrawal {
    /// Checks the texts.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        said(
            &mut checker,
            "withdrawn_by",
            &self.withdrawn_by,
            "say who withdraws it",
        );
        checker.text("why", self.why.as_deref(), 400);
        checker.finish()
    }
}

/// A text that has to be there.
fn said(checker: &mut Checker, field: &str, text: &str, remedy: &str) {
    if text.trim().is_empty() {
        checker.note(field, format!("missing; {remedy}"));
    }
    checker.text(field, Some(text), 80);
}
