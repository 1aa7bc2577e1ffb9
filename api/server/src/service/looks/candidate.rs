//! What a look has to say something about, perhaps: one thing that is watched, as it reads now.

use domain::warning::{Reading, WarningKind};
use types::WarningFigures;

/// One thing that is watched, as it reads now.
pub(super) struct Candidate {
    pub(super) kind: WarningKind,
    /// Unique among all that is open.
    pub(super) key: String,
    pub(super) subject: String,
    pub(super) part: Option<i64>,
    pub(super) job: Option<i64>,
    pub(super) course: Option<i64>,
    pub(super) channels: Vec<String>,
    pub(super) reading: Reading,
    /// The chance of a stop times the hours that it costs: what finds room in a week first.
    pub(super) weight: f64,
    /// What is said if it is told.
    pub(super) says: String,
    /// What is said if it is told again.
    pub(super) louder: String,
    pub(super) figures: Option<WarningFigures>,
}

/// Hours of work in a day, where hours that a stop costs are weighed (invented).
pub(super) const HOURS_A_DAY: f64 = 8.0;
