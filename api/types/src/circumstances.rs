//! Where, when and by whom something was done: the same for every entry of the ledger.

use chrono::{DateTime, FixedOffset};
use domain::code::Code;

use crate::Checker;

/// The operator groups; wear is learned for each apart.
pub const GROUPS: [&str; 4] = ["own", "helper", "beginner", "visitor"];
/// The group of an entry that names none.
pub const DEFAULT_GROUP: &str = "own";

/// Where, when and by whom.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Circumstances<'a> {
    /// When it happened.
    pub at: Option<DateTime<FixedOffset>>,
    /// What the clock of the device said.
    pub device_at: Option<DateTime<FixedOffset>>,
    /// By how many seconds the clock of the device was found to be ahead.
    pub clock_ahead_seconds: Option<i64>,
    /// The site.
    pub site: Option<&'a str>,
    /// Operator group.
    pub group: Option<&'a str>,
    /// The job.
    pub job: Option<&'a str>,
    /// The lot.
    pub lot: Option<&'a str>,
    /// Who did it.
    pub by: Option<&'a str>,
    /// A note.
    pub note: Option<&'a str>,
}

impl Circumstances<'_> {
    /// Notes what is wrong with them.
    pub fn check(&self, checker: &mut Checker) {
        check_group(self.group, checker);
        if let Some(lot) = self.lot {
            checker.take("lot", Code::parse("lot", lot));
        }
        checker.text("by", self.by, 80);
        checker.text("note", self.note, 400);
    }
}

/// Notes a group that is none of [`GROUPS`].
pub fn check_group(group: Option<&str>, checker: &mut Checker) {
    if let Some(group) = group.filter(|group| !GROUPS.contains(group)) {
        checker.note(
            "group",
            format!("\"{group}\" is unknown; give {}", GROUPS.join(", ")),
        );
    }
}
