//! Written procedures (welding procedure specifications): what a revision permits, what may be signed
//! for it, and whether a part in the drawer is what it asks for. Whether a weld or a procedure is
//! acceptable is for qualified people to say, and not here; nor is how many parts there are.

mod equivalence;
mod marking;
mod requirement;
mod rule;
#[cfg(test)]
mod tests;
mod verdict;

pub use equivalence::{Equivalence, EquivalenceError, NamedThing};
pub use marking::{Marking, System, Written};
pub use requirement::{Requirement, RequirementError, TipAngle, TipAngleError};
pub use verdict::{Candidate, Piece, Reason, Verdict};

use crate::named::named;

named! {
    /// What can be said of a part, or of a drawer, under a procedure. There is no fourth answer, and
    /// no way around these three.
    State, "state under a procedure" {
        /// It is what the procedure permits.
        Matches = "matches",
        /// It would be, if the person responsible signs what is named.
        NeedsSignOff = "needs sign-off",
        /// It is not. The way out is a new revision of the procedure.
        DoesNotMatch = "does not match",
    }
}

/// The state of a whole drawer: how many pieces are usable, how many would be with a sign-off, and how
/// many are needed. A need of 0 asks for one.
///
/// Enough usable pieces match. Otherwise, if a sign-off would make more of them usable, that is what
/// is needed; else the drawer does not match.
///
/// ```
/// use tigstock_domain::procedure::{State, whole};
/// assert_eq!(whole(9, 0, 8), State::Matches);
/// assert_eq!(whole(0, 9, 8), State::NeedsSignOff);
/// assert_eq!(whole(0, 0, 8), State::DoesNotMatch);
/// ```
pub fn whole(usable: i64, pending: i64, need: i64) -> State {
    if usable >= need.max(1) {
        State::Matches
    } else if pending > 0 {
        State::NeedsSignOff
    } else {
        State::DoesNotMatch
    }
}
