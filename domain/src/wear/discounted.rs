//! The wear rate of a part that has no exposure, only calendar time: it changes slowly, so that older
//! periods count less. How much less, and how unevenly the part is used, is learned in `learned`; a rate
//! over an exposure is in the parent.

use thiserror::Error;

use super::Gamma;
use crate::predictive::{NegativeBinomial, PredictiveError};
use crate::special;

mod learned;
#[cfg(test)]
mod tests;

pub use learned::{ByCalendar, CANDIDATES, MostLikely};

/// How much more the use of single periods varies than Poisson counts do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unevenness {
    /// Not more: variance m at mean m.
    None,
    /// Pieces go in clumps: variance c m, with c from 1 to 1000 pieces.
    Clumps(f64),
    /// Some periods are busy and some slack: variance m + s m^2, with s from 0 to 100, the squared
    /// coefficient of variation of how busy they are.
    Swings(f64),
}

/// The use of a part in each period to come, known as gamma with a rate that may change.
///
/// The discounted gamma-Poisson model: before each period the shape a and the rate b of what is known are
/// multiplied by the discount d, which keeps the mean a / b and widens the range; then a period with y
/// pieces used adds y to a and its exposure e to b, 1 for a normal period, less for one with closed days. So
/// a period counts d times as much as the one after it. With d = 1 it is [`Gamma::posterior`]. J. Q. Smith, *Journal of the Royal Statistical
/// Society* B 41, 1979; M. West, J. Harrison, *Bayesian Forecasting and Dynamic Models*; the change between two
/// periods that gives exactly this is a beta factor (R. L. Smith, J. E. Miller, *Journal of the Royal
/// Statistical Society* B 48, 1986).
///
/// Where use is uneven, with variance v m at mean m, a period adds y / v to a and e / v to b: it tells as
/// much as 1 / v periods of even use would (quasi-likelihood, R. W. M. Wedderburn, *Biometrika* 61, 1974).
///
/// ```
/// use tigstock_domain::wear::Gamma;
/// use tigstock_domain::wear::discounted::{Discounted, Unevenness};
/// // One piece in four weeks assumed; 2, 0 and 1 were used.
/// let mut known = Discounted::new(Gamma::new(1.0, 4.0)?, 0.9, Unevenness::None)?;
/// for used in [2, 0, 1] {
///     known.observe(used, 1.0);
/// }
/// // a = ((0.9 + 2) 0.9 + 0) 0.9 + 1 = 3.349, b = ((3.6 + 1) 0.9 + 1) 0.9 + 1 = 5.626.
/// assert!((known.mean() - 3.349 / 5.626).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Discounted {
    shape: f64,
    rate: f64,
    discount: f64,
    unevenness: Unevenness,
}

/// Why there is no such model.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum DiscountError {
    /// The discount is out of range or not a number.
    #[error(
        "a discount is from 0.5 (the last period counts as much as all before) to 1 (all count alike), not {0}"
    )]
    Discount(f64),
    /// The clumps are out of range or not a number.
    #[error("clumps are of 1 to 1000 pieces, not {0}")]
    Clumps(f64),
    /// The swings are out of range or not a number.
    #[error("the squared variation of busy and slack periods is from 0 to 100, not {0}")]
    Swings(f64),
}

impl Discounted {
    /// The most periods ahead, a century of weeks.
    pub const PERIODS_MAX: u32 = 5_200;

    /// What is known at the start: a starting assumption in pieces a period, the discount, and how uneven
    /// use is.
    ///
    /// # Errors
    /// [`DiscountError`]: a discount outside 0.5 to 1, clumps outside 1 to 1000, swings outside 0 to 100.
    pub fn new(
        assumed: Gamma,
        discount: f64,
        unevenness: Unevenness,
    ) -> Result<Self, DiscountError> {
        if !(0.5..=1.0).contains(&discount) {
            return Err(DiscountError::Discount(discount));
        }
        match unevenness {
            Unevenness::Clumps(pieces) if !(1.0..=1e3).contains(&pieces) => {
                Err(DiscountError::Clumps(pieces))
            }
            Unevenness::Swings(swings) if !(0.0..=100.0).contains(&swings) => {
                Err(DiscountError::Swings(swings))
            }
            Unevenness::None | Unevenness::Clumps(_) | Unevenness::Swings(_) => {
                Ok(Self::written(assumed, discount, unevenness))
            }
        }
    }

    /// Figures that are written in this crate and within the range; its tests see to it.
    const fn written(assumed: Gamma, discount: f64, unevenness: Unevenness) -> Self {
        Self {
            shape: assumed.shape,
            rate: assumed.rate,
            discount,
            unevenness,
        }
    }

    /// The discount d.
    pub fn discount(&self) -> f64 {
        self.discount
    }

    /// How uneven use is taken to be.
    pub fn unevenness(&self) -> Unevenness {
        self.unevenness
    }

    /// Expected use in a normal period to come, in pieces: the wear rate a / b.
    pub fn mean(&self) -> f64 {
        self.shape / self.rate
    }

    /// Takes in one more period, the oldest first: what was used in it and its exposure, 1 for a normal one.
    /// Pieces and exposures beyond 1e9 count as 1e9, an exposure that is negative or not a number as 0.
    pub fn observe(&mut self, used: u64, exposure: f64) {
        let used = special::real(used).min(Gamma::MAX);
        let exposure = bounded(exposure);
        let times = match self.unevenness {
            Unevenness::None => 1.0,
            Unevenness::Clumps(pieces) => pieces,
            Unevenness::Swings(swings) => 1.0 + swings * self.mean() * exposure,
        };
        // A part that is not used for years comes near no use at all, and stays a number.
        self.shape = (self.discount * self.shape + used / times).max(Gamma::SHAPE_MIN);
        self.rate = (self.discount * self.rate + exposure / times).max(Gamma::RATE_MIN);
    }

    /// Use over so many periods to come, one or more, with the exposure E in all, h for h normal periods.
    ///
    /// For one period of even use it is exact: negative binomial with size d a at rate d b over E. Otherwise
    /// it is the negative binomial with the same mean and variance, the exposure spread evenly over the
    /// periods. With m = a E / (b h) and h periods, the mean is h m and the variance is
    ///
    /// `h m + m^2 S / a + (h (c - 1) m for clumps, or s m^2 (h + R / a) for swings)`
    ///
    /// where R is the sum over j from 1 to h of d^-j and S that of (2 (h - j) + 1) d^-j: the rate is a
    /// martingale, whose variance j periods ahead is m^2 d^-j / a. Far ahead that would grow without end; it
    /// stops where the mean rate is as uncertain as an exponential one, or as it is one period ahead if that
    /// is more (this limit is the project's own).
    ///
    /// # Errors
    /// [`PredictiveError::Exposure`] for 0 periods or more than [`PERIODS_MAX`](Self::PERIODS_MAX), and for
    /// an exposure outside 0 to 1e9.
    pub fn predictive(
        &self,
        periods: u32,
        exposure: f64,
    ) -> Result<NegativeBinomial, PredictiveError> {
        if !(1..=Self::PERIODS_MAX).contains(&periods) {
            return Err(PredictiveError::Exposure(f64::from(periods)));
        }
        if exposure == 0.0 || !(0.0..=NegativeBinomial::EXPOSURE_MAX).contains(&exposure) {
            // Nothing, or the error of the exposure.
            return NegativeBinomial::new(1.0, 1.0, exposure);
        }
        let (h, whole) = (f64::from(periods), self.mean() * exposure);
        let one_ahead = 1.0 / (self.discount * self.shape);
        let (mut single, mut shared, mut ahead) = (0.0, 0.0, 1.0 / self.shape);
        for step in 1..=periods {
            ahead = (ahead / self.discount).min(one_ahead.max(1.0));
            single += ahead;
            shared += f64::from(2 * (periods - step) + 1) * ahead;
        }
        // The squared variation of the rate over the h periods, by all that makes it uncertain.
        let noise = match self.unevenness {
            Unevenness::None => 0.0,
            Unevenness::Clumps(pieces) => (pieces - 1.0) / whole,
            Unevenness::Swings(swings) => swings * (h + single) / (h * h),
        };
        let variation = shared / (h * h) + noise;
        let size = (1.0 / variation).clamp(Gamma::SHAPE_MIN, Gamma::MAX);
        NegativeBinomial::new(
            size,
            1.0,
            (whole / size).min(NegativeBinomial::EXPOSURE_MAX),
        )
    }
}

/// An exposure within its range; 0 for what is none.
fn bounded(exposure: f64) -> f64 {
    if exposure > 0.0 {
        exposure.min(Gamma::MAX)
    } else {
        0.0
    }
}
