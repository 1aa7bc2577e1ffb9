//! The scan over start days: the window that is hardest to explain, and the limit that it is held to.
//! How readings become an alarm is in the parent's `episode`.

use crate::predictive::PredictiveError;
use crate::special::real;
use crate::wear::Gamma;

/// What one torch did with one part on one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkDay {
    /// The number of the day; days come oldest first, each at most once.
    pub day: i64,
    /// Exposure in the unit of the rate (arc hours or grinds), in terms of the reference group; from 0.
    pub exposure: f64,
    /// Pieces used.
    pub used: u64,
}

/// What a torch used from a day on, against what a torch like the others would use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// The number of its first day.
    pub start: i64,
    /// Pieces used.
    pub used: u64,
    /// Exposure, in the unit of the rate.
    pub exposure: f64,
    /// Pieces that a torch like the others uses over it on average: a T / b.
    pub expected: f64,
    /// P(N >= used) of a torch like the others, for a window fixed beforehand; above 0, at most 1.
    pub tail: f64,
}

/// From so many pieces in a window on, one reading over the limit is enough for an alarm.
pub const LARGE: u64 = 10;

/// The limit of a single window, however few there are.
pub const LIMIT_MAX: f64 = 0.005;

/// What the limit of many windows is scaled by; see [`limit`].
const LIMIT_OF_ONE: f64 = 0.021;

/// The limit on the smallest tail over so many windows: `min(0.005, 0.021 w^(-2/3))`.
///
/// The start day is chosen after looking, and the look is repeated each week, so a fixed tail of 0.005
/// would be passed far too often. The form and the two figures are fitted to simulated shops without a
/// fault (five torches, 2 to 30 arc hours a week each, 0.03 to 0.5 pieces an hour; the tests of this module
/// hold it to them): with two readings in a row or ten pieces for an alarm, and
/// four readings below the limit to close it, they raise at most 0.005 false alarms per torch and weekly
/// check, which is 1.3 a year on five torches. No windows count as one.
pub fn limit(windows: u64) -> f64 {
    (LIMIT_OF_ONE / real(windows.max(1)).powf(2.0 / 3.0)).min(LIMIT_MAX)
}

/// The windows of a torch, looked at together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The window with the smallest tail, and of equals the shortest; none if nothing was used.
    pub strongest: Option<Window>,
    /// How many windows were looked at: the days on which something was used.
    pub windows: u64,
    /// The limit for so many.
    pub limit: f64,
}

impl Reading {
    /// Whether the strongest window is over the limit.
    pub fn is_over(&self) -> bool {
        self.strongest.is_some_and(|it| it.tail <= self.limit)
    }

    /// Whether it is over the limit with so many pieces that one reading is enough.
    pub fn is_large(&self) -> bool {
        self.is_over() && self.strongest.is_some_and(|it| it.used >= LARGE)
    }
}

/// What was used from day `start` on.
///
/// # Errors
/// [`PredictiveError::Exposure`] for an exposure that is negative, beyond 1e9 or not a number.
///
/// ```
/// use tigstock_domain::torch_wear::{WorkDay, window};
/// use tigstock_domain::wear::Gamma;
/// let others = Gamma::new(60.0, 430.0)?;
/// let days = [WorkDay { day: 20_607, exposure: 24.0, used: 10 }];
/// let found = window(&days, 20_607, &others)?;
/// assert!((found.expected - 3.3).abs() < 0.05 && (found.tail - 0.0033).abs() < 5e-5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn window(days: &[WorkDay], start: i64, others: &Gamma) -> Result<Window, PredictiveError> {
    let (mut used, mut exposure) = (0_u64, 0.0);
    for day in days.iter().filter(|day| day.day >= start) {
        used = used.saturating_add(day.used);
        exposure += day.exposure;
    }
    weigh(start, (used, exposure), others)
}

fn weigh(
    start: i64,
    (used, exposure): (u64, f64),
    others: &Gamma,
) -> Result<Window, PredictiveError> {
    let uses = others.predictive(exposure)?;
    let tail = used.checked_sub(1).map_or(1.0, |below| uses.sf(below));
    Ok(Window {
        start,
        used,
        exposure,
        expected: uses.mean(),
        // Use over no exposure is impossible by the model; a chance of nothing would divide by zero.
        tail: tail.max(f64::MIN_POSITIVE),
    })
}

/// Looks at the windows from every day to the last. A window that begins on a day on which nothing was
/// used is weaker than the next shorter one, so those are left out and do not count.
///
/// # Errors
/// As [`window`].
pub fn scan(days: &[WorkDay], others: &Gamma) -> Result<Reading, PredictiveError> {
    let (mut used, mut exposure) = (0_u64, 0.0);
    let mut strongest: Option<Window> = None;
    let mut windows = 0;
    for day in days.iter().rev() {
        used = used.saturating_add(day.used);
        exposure += day.exposure;
        if day.used == 0 {
            continue;
        }
        windows += 1;
        let found = weigh(day.day, (used, exposure), others)?;
        if strongest.is_none_or(|so_far| found.tail < so_far.tail) {
            strongest = Some(found);
        }
    }
    Ok(Reading {
        strongest,
        windows,
        limit: limit(windows),
    })
}
