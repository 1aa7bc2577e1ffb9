//! Transfers: pieces of a part that move from one site to another, as one entry.

use chrono::{DateTime, FixedOffset};
use domain::code::Code;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::{Checker, Circumstances, Violation, check_quantity};

/// Pieces to be moved from one site to another. Nothing moves if the other site does not permit the
/// part.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewTransfer {
    /// The code of the part.
    #[schema(example = "WTh20-2.4")]
    pub part: String,
    /// How many of the part's unit.
    #[schema(example = 5, minimum = 1)]
    pub quantity: i64,
    /// The site that they leave.
    #[schema(example = "shop")]
    pub from: String,
    /// The site that they come to.
    #[schema(example = "tarnbridge")]
    pub to: String,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// When it happened, with its offset from UTC; what the device's clock said, else the time of
    /// receipt, unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "2026-05-11T14:02:10-03:00")]
    pub at: Option<DateTime<FixedOffset>>,
    /// What the clock of the device said when it happened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub device_at: Option<DateTime<FixedOffset>>,
    /// By how many seconds the clock of the device was found to be ahead of the true time; below
    /// zero if it was behind.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 360)]
    pub clock_ahead_seconds: Option<i64>,
    /// The lot, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// Who did it, as the shop calls them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "helper")]
    pub by: Option<String>,
    /// A note.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl NewTransfer {
    /// Where, when and by whom; the site is the one that the pieces leave.
    pub fn circumstances(&self) -> Circumstances<'_> {
        Circumstances {
            at: self.at.or(self.device_at),
            device_at: self.device_at,
            clock_ahead_seconds: self.clock_ahead_seconds,
            site: Some(&self.from),
            group: None,
            job: None,
            lot: self.lot.as_deref(),
            by: self.by.as_deref(),
            note: self.note.as_deref(),
        }
    }

    /// Checks the figures and the circumstances.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("from", Code::parse("site", &self.from));
        checker.take("to", Code::parse("site", &self.to));
        if self.from.trim().eq_ignore_ascii_case(self.to.trim()) {
            let why = format!("\"{}\" is where they are; give another site", self.to);
            checker.note("to", why);
        }
        check_quantity("quantity", self.quantity, 1, &mut checker);
        checker.text("why", self.why.as_deref(), 400);
        self.circumstances().check(&mut checker);
        checker.finish()
    }
}
