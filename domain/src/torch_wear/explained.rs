//! What explains a reading before a fault is looked for: who worked, and whether they ground more. The
//! reading itself is in the parent's `scan`.

use crate::special::real;

use super::scan::Reading;

/// Grinds over arc time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Pace {
    /// Grinds.
    pub grinds: u64,
    /// Arc hours, from 0.
    pub hours: f64,
}

impl Pace {
    /// Grinds in an arc hour; none if either is not logged.
    pub fn per_hour(&self) -> Option<f64> {
        (self.grinds > 0 && self.hours > 0.0).then(|| real(self.grinds) / self.hours)
    }
}

/// Whether a torch is ground more often than the others in an arc hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grinding {
    /// Grinds or arc hours are not logged on both sides.
    NotLogged,
    /// Less than a quarter more.
    Unchanged,
    /// Between a quarter and a half more: neither the one nor the other.
    Unclear,
    /// A half more, or beyond.
    Risen,
}

/// A quarter more is within what one torch differs from another anyway; invented.
const UNCHANGED_BELOW: f64 = 1.25;
/// From a half more on, grinding has risen; invented.
const RISEN_FROM: f64 = 1.5;

/// Whether the torch is ground more often than the others.
///
/// A tip that touched the work is ground again, so grinding that did not rise speaks against dipping and
/// for erosion or oxidation (common practice).
pub fn grinding(torch: Pace, others: Pace) -> Grinding {
    let (Some(torch), Some(others)) = (torch.per_hour(), others.per_hour()) else {
        return Grinding::NotLogged;
    };
    let times = torch / others;
    if times < UNCHANGED_BELOW {
        Grinding::Unchanged
    } else if times < RISEN_FROM {
        Grinding::Unclear
    } else {
        Grinding::Risen
    }
}

/// What was found, before it is judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Findings {
    /// The reading over all work, as if every group worked alike.
    pub all: Reading,
    /// The reading over the work of groups whose pace is known, each by its own pace.
    pub by_group: Reading,
    /// Whether the alarm by groups stands.
    pub alarm: bool,
    /// Whether work is left out of `by_group`, since the pace of its group is not known.
    pub left_out: bool,
    /// How often it is ground.
    pub grinding: Grinding,
}

/// What a reading comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Nothing that chance does not do.
    Normal,
    /// One reading over the limit; the next one decides.
    High,
    /// Over the limit, and nothing else explains it.
    Alarm,
    /// Over the limit only if every group is taken to work alike: who worked explains it.
    Explained,
    /// A group whose pace is not known used much, and did not grind more.
    Untold,
}

/// What the findings come to: who worked is asked first.
///
/// Work by a group whose pace is not known is kept apart, not scaled. It explains much use only if
/// grinding rose with it, or is not logged: a group that does not grind more does not dip more.
pub fn verdict(found: &Findings) -> Verdict {
    if found.alarm {
        Verdict::Alarm
    } else if found.by_group.is_over() {
        Verdict::High
    } else if !found.all.is_over() {
        Verdict::Normal
    } else if found.left_out && matches!(found.grinding, Grinding::Unchanged | Grinding::Unclear) {
        Verdict::Untold
    } else {
        Verdict::Explained
    }
}
