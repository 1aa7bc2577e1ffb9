//! Lots: where each piece of a lot went, and holding what is left of it.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::{Checker, Violation};

/// Names a lot.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct LotPath {
    /// The lot, as on its packet.
    pub lot: String,
}

/// Which lot, where two parts have lots of the same name.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetTrace {
    /// The code of the part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
}

/// Where the pieces of a lot are: the lines and the gap add up to what was received.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Trace {
    /// The lot.
    #[schema(example = "L-2231")]
    pub lot: String,
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// How many came in, less what was taken back.
    pub received: i64,
    /// Where they went, and where the rest is.
    pub lines: Vec<TraceLine>,
    /// How many were used or handed out.
    pub used: i64,
    /// How many are left, in the drawers.
    pub left: i64,
    /// Of those, how many are on hold.
    pub on_hold: i64,
    /// How many are not accounted for: received, not used, and not in the drawers by the newest
    /// count. Below zero if more was used than ever came in.
    pub gap: i64,
    /// Jobs with a locked procedure that got pieces of it.
    pub locked_jobs: Vec<String>,
    /// The trace in words.
    pub says: String,
}

/// Where pieces of a lot went, or are.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TraceLine {
    /// `used`, `scrapped`, `sent back`, `adjusted` or `left`.
    #[schema(example = "used")]
    pub what: String,
    /// The job, or the operator group where no job was told; for what is left, the drawers.
    #[schema(example = "R-118")]
    pub place: String,
    /// The site.
    pub site: String,
    /// How many.
    pub quantity: i64,
    /// The operator groups that had them.
    pub groups: Vec<String>,
    /// Who had them, where it was told.
    pub by: Vec<String>,
    /// The first day and time, with the offset it was told with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_at: Option<DateTime<FixedOffset>>,
    /// The last day and time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_at: Option<DateTime<FixedOffset>>,
}

/// Why a lot is put on hold or freed.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewLotHold {
    /// The code of the part, where two parts have lots of the same name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "notice of the supplier")]
    pub why: Option<String>,
    /// Who does it, as the shop calls them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// What became of the pieces of a lot that are left.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LotHold {
    /// How many were put on hold or freed now; none if it was so before.
    pub pieces: i64,
    /// The entries that did it, one a site.
    pub entries: Vec<Uuid>,
    /// The trace, after it.
    pub trace: Trace,
}

impl NewLotHold {
    /// Checks the texts.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.text("why", self.why.as_deref(), 400);
        checker.text("by", self.by.as_deref(), 80);
        checker.finish()
    }
}
