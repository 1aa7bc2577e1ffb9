//! Matches: what of the stock is what a procedure asks for.

use chrono::{DateTime, FixedOffset, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{Checker, Violation};

/// What is asked of the stock under a procedure.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetMatch {
    /// How many electrodes are needed, or pieces of `part`; at least one unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 1_000_000, example = 8)]
    pub need: Option<i64>,
    /// Only this part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// The revision; the newest unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = 2)]
    pub revision: Option<i64>,
    /// The instant by which revisions and signatures count; the present unless told. Stock is that of
    /// the present.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub now: Option<String>,
}

/// What of the stock is what a procedure asks for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ProcedureMatch {
    /// The code of the procedure.
    pub procedure: String,
    /// The revision.
    pub revision: i64,
    /// The newest revision.
    pub newest_revision: i64,
    /// The site.
    pub site: String,
    /// `matches` if enough is usable; `needs sign-off` if a signature would make more of it usable;
    /// `does not match` otherwise.
    #[schema(example = "matches")]
    pub state: String,
    /// How many are needed, if it was told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub need: Option<i64>,
    /// How many are usable: electrodes as delivered, unless a part was asked for. Stubs are told in
    /// their rows and not counted.
    pub usable: i64,
    /// How many are left when what is needed is taken; absent if there are not enough, or nothing was
    /// told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left: Option<i64>,
    /// How many are missing of what is needed.
    pub short: i64,
    /// How many more would be usable if what is in `to_sign` were signed.
    pub pending: i64,
    /// The included angle of the tip in degrees, if the procedure fixes it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tip_angle: Option<i64>,
    /// One row a candidate: every electrode in stock, and the cups, collet bodies, gas lenses, gases
    /// and fillers of which the procedure fixes something.
    pub rows: Vec<MatchRow>,
    /// What could be signed.
    pub to_sign: Vec<EquivalenceToSign>,
    /// Codes of matching parts that a supplier offers.
    pub to_order: Vec<String>,
    /// Codes of matching parts whose book is below zero, so that nothing can be said of them.
    pub cannot_tell: Vec<String>,
    /// The answer in plain words.
    pub says: Vec<String>,
    /// The cautions that go with the candidates.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
}

/// A candidate in stock, held against a procedure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MatchRow {
    /// The code of the part; absent for stubs of the jar.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// What it is, in words.
    pub name: String,
    /// The kind of part.
    pub kind: String,
    /// Whether it is a stub of the jar.
    pub stub: bool,
    /// The marking as printed, where it was told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marking: Option<String>,
    /// How many there are.
    pub quantity: i64,
    /// What they are counted in: `piece`, `ml` or `g`.
    pub unit: String,
    /// How many of them are neither held nor promised to a job.
    pub available: i64,
    /// How many may be used under the procedure: none unless it matches.
    pub usable: i64,
    /// The lots that are known of them.
    pub lots: Vec<LotLeft>,
    /// `matches`, `needs sign-off` or `does not match`.
    #[schema(example = "does not match")]
    pub verdict: String,
    /// Each dimension that is wrong, in words; empty if it matches.
    #[schema(example = "different size: 2.5 is not 2.4, and it needs its own collet")]
    pub reason: String,
    /// The signed equivalence on which it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub equivalence: Option<String>,
    /// When that was signed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signed_at: Option<DateTime<FixedOffset>>,
}

/// What is left of a lot.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LotLeft {
    /// The lot.
    pub lot: String,
    /// How many.
    pub quantity: i64,
}

/// An equivalence that nobody signed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct EquivalenceToSign {
    /// The name that it would get.
    #[schema(example = "EQ-1")]
    pub equivalence: String,
    /// The marking as printed.
    pub marking: String,
    /// The class that it would be.
    pub class: String,
    /// The diameter that it would be.
    pub diameter: String,
    /// The grade that the maker declares, of the general class.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grade: Option<String>,
    /// How many pieces would be usable.
    pub pieces: i64,
}

impl GetMatch {
    /// Checks the need.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        if let Some(need) = self.need {
            checker.range("need", need, 1, 1_000_000);
        }
        checker.finish()
    }
}
