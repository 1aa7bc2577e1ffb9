//! The end of a piece of work: what a job or a course really used, and how far its plan was off.

use chrono::{DateTime, FixedOffset, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{Checker, Violation};

/// The most parts that one closing may name.
const PARTS_MAX: usize = 200;

/// A job or a course is done. What it really took is given in all, and what is not logged yet is logged
/// now; what is left out stays as it is on record.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewClosing {
    /// The arc time that the job took in all, in minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 2280, minimum = 0, maximum = 6_000_000)]
    pub arc_minutes: Option<i64>,
    /// The grinds that the job took in all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub grinds: Option<i64>,
    /// The student-days that were taught in all; as planned unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 10_000)]
    pub student_days: Option<i64>,
    /// Which parts it used up in all, the bucket of broken ones included.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub used: Vec<PartsUsed>,
    /// What the drawers were counted to hold now.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub counts: Vec<PartsCounted>,
    /// When it ended; now unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<DateTime<FixedOffset>>,
    /// Who says so, as the shop calls them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// How many of a part a piece of work used.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartsUsed {
    /// The code of the part.
    #[schema(example = "WLa20-2.4")]
    pub part: String,
    /// How many in all.
    #[schema(example = 7, minimum = 0, maximum = 10_000)]
    pub quantity: i64,
}

/// How many of a part are there.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartsCounted {
    /// The code of the part.
    pub part: String,
    /// How many.
    #[schema(minimum = 0, maximum = 1_000_000_000)]
    pub counted: i64,
}

/// How a job or a course ended, beside what was expected when it began.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Closing {
    /// The code of the job or the course.
    #[schema(example = "R-118")]
    pub code: String,
    /// `job` or `course`.
    #[schema(example = "job")]
    pub kind: String,
    /// When it ended.
    pub closed_at: DateTime<Utc>,
    /// The group that learns from it.
    pub group: String,
    /// How large it was planned to be.
    pub planned: WorkSize,
    /// How large it was.
    pub took: WorkSize,
    /// One line a part.
    pub lines: Vec<ClosingLine>,
    /// How far the plan was off, in plain words.
    pub says: Vec<String>,
    /// The entries that the closing logged.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub recorded: Vec<Uuid>,
}

/// How large a piece of work is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WorkSize {
    /// Arc time in minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arc_minutes: Option<i64>,
    /// Grinds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grinds: Option<i64>,
    /// Normal weeks of TIG work.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weeks: Option<f64>,
    /// Student-days.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub student_days: Option<i64>,
}

/// One part of a piece of work that is done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ClosingLine {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// How many it used.
    pub used: i64,
    /// What was expected when it began, by what was known then; absent if nothing could be told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected: Option<f64>,
    /// One time in twenty fewer were to be expected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low: Option<i64>,
    /// One time in twenty more.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high: Option<i64>,
    /// What would have been expected, had the size been known that it took.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_for_what_it_took: Option<f64>,
    /// Whether what was used is within the range.
    pub within: bool,
}

impl NewClosing {
    /// Checks the figures.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        for (field, value, max) in [
            ("arc_minutes", self.arc_minutes, 6_000_000),
            ("grinds", self.grinds, 1_000_000),
            ("student_days", self.student_days, 10_000),
        ] {
            if let Some(value) = value {
                checker.range(field, value, 0, max);
            }
        }
        for (list, length) in [("used", self.used.len()), ("counts", self.counts.len())] {
            if length > PARTS_MAX {
                checker.note(
                    list,
                    format!("has {length} lines; give at most {PARTS_MAX}"),
                );
            }
        }
        for (index, line) in self.used.iter().enumerate() {
            checker.range(&format!("used/{index}/quantity"), line.quantity, 0, 10_000);
            let is_first = |other: &PartsUsed| other.part.eq_ignore_ascii_case(&line.part);
            if self.used.iter().position(is_first) != Some(index) {
                let why = format!("{} is there twice; give its sum once", line.part);
                checker.note(&format!("used/{index}/part"), why);
            }
        }
        for (index, line) in self.counts.iter().enumerate() {
            let field = format!("counts/{index}/counted");
            checker.range(&field, line.counted, 0, 1_000_000_000);
        }
        checker.text("by", self.by.as_deref(), 80);
        checker.finish()
    }
}
