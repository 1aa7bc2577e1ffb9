//! Point forecasts of use that comes now and then, by exponential smoothing: Croston's method, the
//! Syntetos-Boylan approximation and the method of Teunter, Syntetos and Babai. They are references
//! that a forecast is compared with. The smoothing constant that fits a record best is in `optimised`,
//! what sort of use it is in `pattern`; a forecast with a range is in [`wear`](crate::wear).
//!
//! A record is a row of periods, oldest first, with what was used in each. Conventions, where books
//! differ: a period counts as one with use if its figure is above 0; the first interval is the place of
//! the first use, counted from 1, so that empty periods at the start count; a level starts at its first
//! value and moves by `level += alpha (value - level)`; the forecast holds for each period to come.
//!
//! Use may be a fraction (grams, litres) up to [`USE_MAX`]; a figure above that counts as [`USE_MAX`], one
//! that is negative or not a number as no use. So no forecast is NaN or infinite.

use thiserror::Error;

mod optimised;
mod pattern;
#[cfg(test)]
mod tests;

pub use optimised::{Optimised, croston_optimised};
pub use pattern::{Pattern, PatternKind, pattern};

/// The largest use of one period.
pub const USE_MAX: f64 = 1e15;

/// The part of an error that a level follows: alpha, above 0 and up to 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Smoothing(f64);

/// A smoothing constant out of range.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("a smoothing constant is above 0 and at most 1, not {0}; 0.1 is usual")]
pub struct SmoothingError(
    /// The number given.
    pub f64,
);

impl Smoothing {
    /// The constant of the plain method, 0.1.
    pub const USUAL: Self = Self(0.1);

    /// A smoothing constant.
    ///
    /// # Errors
    /// [`SmoothingError`] at or below 0, above 1, or not a number.
    pub fn new(alpha: f64) -> Result<Self, SmoothingError> {
        if alpha > 0.0 && alpha <= 1.0 {
            Ok(Self(alpha))
        } else {
            Err(SmoothingError(alpha))
        }
    }

    /// The constant itself.
    pub fn get(self) -> f64 {
        self.0
    }

    /// A level after one more value.
    fn follow(self, level: f64, value: f64) -> f64 {
        level + self.0 * (value - level)
    }
}

/// What was used in a period, or none; see the head of this module for what counts as use.
fn used(figure: f64) -> Option<f64> {
    // Below the smallest normal number there is nothing to divide by.
    (figure >= f64::MIN_POSITIVE).then(|| figure.min(USE_MAX))
}

/// Croston's method, one period at a time: the size of a use and the interval between uses are
/// smoothed apart, and both move only when there is use. The forecast is size over interval.
///
/// J. D. Croston, *Operational Research Quarterly* 23, 1972.
///
/// ```
/// use tigstock_domain::intermittent::{Croston, Smoothing};
/// let mut croston = Croston::new(Smoothing::USUAL);
/// for used in [0.0, 0.0, 3.0, 0.0, 1.0] {
///     croston.observe(used);
/// }
/// // Size 3 - 0.1 x 2 = 2.8; interval 3 - 0.1 x 1 = 2.9.
/// assert!((croston.forecast() - 2.8 / 2.9).abs() < 1e-15);
/// # Ok::<(), tigstock_domain::intermittent::SmoothingError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Croston {
    alpha: Smoothing,
    size: f64,
    interval: f64,
    /// Periods since the last use, this one included.
    gap: u32,
}

impl Croston {
    /// A method that has seen nothing.
    pub const fn new(alpha: Smoothing) -> Self {
        Self {
            alpha,
            size: 0.0,
            interval: 0.0,
            gap: 0,
        }
    }

    /// Takes in one more period.
    pub fn observe(&mut self, figure: f64) {
        self.gap = self.gap.saturating_add(1);
        if let Some(size) = used(figure) {
            self.take(size, self.gap);
            self.gap = 0;
        }
    }

    /// Takes in a use, so many periods after the one before.
    fn take(&mut self, size: f64, interval: u32) {
        let interval = f64::from(interval);
        if self.interval > 0.0 {
            self.size = self.alpha.follow(self.size, size);
            self.interval = self.alpha.follow(self.interval, interval);
        } else {
            (self.size, self.interval) = (size, interval);
        }
    }

    /// The use to expect in each period to come; 0 before the first use. Empty periods after the last
    /// use do not change it.
    pub fn forecast(&self) -> f64 {
        if self.interval > 0.0 {
            self.size / self.interval
        } else {
            0.0
        }
    }

    /// The forecast less its bias: times 1 - alpha/2. A. A. Syntetos, J. E. Boylan, *International
    /// Journal of Forecasting* 21, 2005.
    pub fn forecast_less_bias(&self) -> f64 {
        self.forecast() * (1.0 - self.alpha.0 / 2.0)
    }
}

/// The method of Teunter, Syntetos and Babai, one period at a time: the size of a use moves only when
/// there is use, the chance of use in a period moves always, so that the forecast of a part that nobody
/// uses any more dies away. The forecast is size times chance.
///
/// R. H. Teunter, A. A. Syntetos, M. Z. Babai, *European Journal of Operational Research* 214, 2011. The
/// chance starts at 1 or 0, whichever the first period was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tsb {
    size_alpha: Smoothing,
    chance_alpha: Smoothing,
    size: f64,
    chance: f64,
    is_started: bool,
}

impl Tsb {
    /// A method that has seen nothing, with the constant of the size and that of the chance.
    pub const fn new(size_alpha: Smoothing, chance_alpha: Smoothing) -> Self {
        Self {
            size_alpha,
            chance_alpha,
            size: 0.0,
            chance: 0.0,
            is_started: false,
        }
    }

    /// Takes in one more period.
    pub fn observe(&mut self, figure: f64) {
        let size = used(figure);
        self.chance = match (self.is_started, size) {
            (true, Some(_)) => self.chance_alpha.follow(self.chance, 1.0),
            // The same towards 0, without cancellation.
            (true, None) => self.chance * (1.0 - self.chance_alpha.0),
            (false, Some(_)) => 1.0,
            (false, None) => 0.0,
        };
        self.is_started = true;
        if let Some(size) = size {
            self.size = if self.size > 0.0 {
                self.size_alpha.follow(self.size, size)
            } else {
                size
            };
        }
    }

    /// The use to expect in each period to come; 0 before the first use.
    pub fn forecast(&self) -> f64 {
        self.size * self.chance
    }
}

/// The forecast of [`Croston`] with the usual constant after a whole record; 0 for one without use.
pub fn croston(record: &[f64]) -> f64 {
    whole(record).forecast()
}

/// The forecast of [`Croston`] less its bias (the Syntetos-Boylan approximation), with the usual constant
/// after a whole record: 0.95 times that of [`croston`].
///
/// ```
/// use tigstock_domain::intermittent::sba;
/// assert!((sba(&[0.0, 2.0]) - 0.95).abs() < 1e-15);
/// assert_eq!(sba(&[]), 0.0);
/// ```
pub fn sba(record: &[f64]) -> f64 {
    whole(record).forecast_less_bias()
}

/// A whole record at once.
fn whole(record: &[f64]) -> Croston {
    let mut state = Croston::new(Smoothing::USUAL);
    each_use(record, |size, interval| state.take(size, interval));
    state
}

/// The forecast of [`Tsb`] after a whole record; 0 for one without use.
///
/// The same as one period at a time, but a run of empty periods is one power of 1 - alpha.
pub fn tsb(record: &[f64], size_alpha: Smoothing, chance_alpha: Smoothing) -> f64 {
    let powers = Powers::of(1.0 - chance_alpha.0);
    let (mut size, mut chance) = (0.0, 0.0);
    let empty = each_use(record, |used, interval| {
        if size > 0.0 {
            size = size_alpha.follow(size, used);
            chance = chance_alpha.follow(chance * powers.get(interval.saturating_sub(1)), 1.0);
        } else {
            // The chance starts at what the first period was, and from 0 it only moves with a use.
            let start = if interval == 1 { 1.0 } else { 0.0 };
            (size, chance) = (used, chance_alpha.follow(start, 1.0));
        }
    });
    size * chance * powers.get(empty)
}

/// The powers of a number, the first of them at hand.
struct Powers {
    base: f64,
    first: [f64; 32],
}

impl Powers {
    fn of(base: f64) -> Self {
        let mut first = [1.0; 32];
        for power in 1..first.len() {
            first[power] = first[power - 1] * base;
        }
        Self { base, first }
    }

    fn get(&self, times: u32) -> f64 {
        let at_hand = usize::try_from(times)
            .ok()
            .and_then(|times| self.first.get(times));
        at_hand.copied().unwrap_or_else(|| {
            let times = i32::try_from(times).unwrap_or(i32::MAX);
            self.base.powi(times)
        })
    }
}

/// Gives each use with how many periods it came after the one before, the first with its place counted from 1; and
/// returns how many empty periods follow the last.
///
/// Most periods of most parts are empty. So 64 at a time are made a mask of those with use, without a branch that
/// would be guessed wrong, and only the bits of the mask are gone through.
fn each_use(record: &[f64], mut take: impl FnMut(f64, u32)) -> u32 {
    const BLOCK: usize = 64;
    // Where the block starts, and where the last use was, counted from 1.
    let (mut start, mut last) = (0_u32, 0_u32);
    for block in record.chunks(BLOCK) {
        let mut mask = 0_u64;
        for (place, figure) in block.iter().enumerate() {
            mask |= u64::from(*figure >= f64::MIN_POSITIVE) << place;
        }
        while mask != 0 {
            let place = mask.trailing_zeros();
            mask &= mask - 1;
            let at = start.saturating_add(place).saturating_add(1);
            // The bit stands for a figure of this block.
            let figure = usize::try_from(place).map_or(0.0, |place| block[place]);
            take(figure.min(USE_MAX), at - last);
            last = at;
        }
        start = start.saturating_add(u32::try_from(block.len()).unwrap_or(0));
    }
    start - last
}
