//! Whether one torch uses a part faster than the other torches do: how unlikely its use is, how many
//! times as fast it goes, since when, and what to check first. How fast parts wear in general is in
//! [`wear`](crate::wear); the words for people are elsewhere, but for the list of checks.
//!
//! The rate of the other torches is Gamma(a, b), from a starting assumption and their own record. Over
//! an exposure T a torch like them uses a number of pieces that is negative binomial (size a, rate b), so
//! the tail P(N >= n) says how often such a torch would use n or more. That holds for a window that was
//! fixed beforehand; [`scan`] looks at every start day, and its limit allows for that.

mod checks;
mod episode;
mod explained;
mod follow_up;
mod ratio;
mod scan;
#[cfg(test)]
mod tests;

pub use checks::{Check, Evidence, Ranked, Reason, Sign, ranked};
pub use episode::{CHECKS_TO_CLOSE, Episode};
pub use explained::{Findings, Grinding, Pace, Verdict, grinding, verdict};
pub use follow_up::{FollowUp, FollowUpError, Outcome};
pub use ratio::Ratio;
pub use scan::{LARGE, LIMIT_MAX, Reading, Window, WorkDay, limit, scan, window};
