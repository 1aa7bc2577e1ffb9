//! How fast a part wears: a gamma rate and what evidence makes of it. Which evidence a job can stand
//! on is in `ladder`, a rate that changes with the calendar in [`discounted`], parts that wear out rather than fail
//! at random in [`gamma_life`], what follows for a coming piece of work in [`predictive`](crate::predictive).

use thiserror::Error;

use crate::predictive::{NegativeBinomial, PredictiveError};
use crate::special::{self, gamma};

pub mod discounted;
pub mod factors;
pub mod gamma_life;
mod ladder;
pub mod length;
#[cfg(test)]
mod tests;
pub mod two_drivers;

pub use ladder::{Evidence, JobSize, NoEvidence, Rung, choose};

/// A wear rate in pieces per unit of exposure, known as Gamma(shape a, rate b).
///
/// The rate b is in the unit of the exposure (arc hours, grinds, weeks) and reads as the exposure
/// the knowledge is worth; a reads as the pieces used in it. Conjugate to Poisson counts: Gelman
/// and others, *Bayesian Data Analysis*.
///
/// ```
/// use tigstock_domain::wear::Gamma;
/// let assumed = Gamma::new(1.0, 40.0)?;
/// let known = assumed.posterior(9, 410.0)?;
/// assert!((known.mean() - 10.0 / 450.0).abs() < 1e-15);
/// assert!((assumed.own_data_share(410.0) - 0.91).abs() < 0.005);
/// # Ok::<(), tigstock_domain::wear::GammaError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gamma {
    shape: f64,
    rate: f64,
}

/// Why there is no such wear rate.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum GammaError {
    /// The shape is out of range or not a number.
    #[error("the shape of a wear rate must be from 0.001 to 1000000000, not {0}")]
    Shape(f64),
    /// The rate is out of range or not a number.
    #[error("the rate of a wear rate must be from 0.000001 to 1000000000, not {0}")]
    Rate(f64),
    /// The exposure added is negative, infinite or not a number.
    #[error("an exposure must be a number from 0 up, not {0}")]
    Exposure(f64),
}

impl Gamma {
    /// The smallest shape.
    pub const SHAPE_MIN: f64 = 1e-3;
    /// The smallest rate, small enough for what is counted in millilitres.
    pub const RATE_MIN: f64 = 1e-6;
    /// The largest shape and the largest rate.
    pub const MAX: f64 = 1e9;

    /// Gamma(`shape`, `rate`).
    ///
    /// # Errors
    /// [`GammaError`] for a shape outside 1e-3 to 1e9 or a rate outside 1e-6 to 1e9.
    pub fn new(shape: f64, rate: f64) -> Result<Self, GammaError> {
        if !(Self::SHAPE_MIN..=Self::MAX).contains(&shape) {
            Err(GammaError::Shape(shape))
        } else if !(Self::RATE_MIN..=Self::MAX).contains(&rate) {
            Err(GammaError::Rate(rate))
        } else {
            Ok(Self { shape, rate })
        }
    }

    /// Figures that are written in this crate and within the range; its tests see to it.
    pub(crate) const fn written(shape: f64, rate: f64) -> Self {
        Self { shape, rate }
    }

    /// The shape a, in pieces.
    pub fn shape(&self) -> f64 {
        self.shape
    }

    /// The rate b, in units of exposure.
    pub fn rate(&self) -> f64 {
        self.rate
    }

    /// The mean rate a / b, in pieces per unit of exposure.
    pub fn mean(&self) -> f64 {
        self.shape / self.rate
    }

    /// What is known after `events` pieces were used in `exposure` more: Gamma(a + n, b + E).
    ///
    /// # Errors
    /// [`GammaError`]: a negative or infinite exposure, or a sum beyond 1e9.
    pub fn posterior(&self, events: u64, exposure: f64) -> Result<Self, GammaError> {
        if !(exposure >= 0.0 && exposure.is_finite()) {
            return Err(GammaError::Exposure(exposure));
        }
        Self::new(self.shape + special::real(events), self.rate + exposure)
    }

    /// The rate that is not exceeded with chance `p`, in pieces per unit of exposure; relative
    /// error below 1e-9.
    ///
    /// `p` at or below 0 gives 0; at or above 1, or not a number, infinity.
    pub fn quantile(&self, p: f64) -> f64 {
        if p <= 0.0 {
            0.0
        } else if p < 1.0 {
            gamma::quantile(self.shape, p) / self.rate
        } else {
            f64::INFINITY
        }
    }

    /// How much of what is known after an exposure E on this assumption is the shop's own:
    /// E / (b + E), from 0 to 1.
    pub fn own_data_share(&self, exposure: f64) -> f64 {
        if exposure.is_infinite() && exposure > 0.0 {
            1.0
        } else if exposure > 0.0 {
            exposure / (self.rate + exposure)
        } else {
            0.0
        }
    }

    /// Pieces used over a coming `exposure` at this rate.
    ///
    /// # Errors
    /// [`PredictiveError::Exposure`] outside 0 to 1e9.
    pub fn predictive(&self, exposure: f64) -> Result<NegativeBinomial, PredictiveError> {
        NegativeBinomial::over(self, exposure)
    }
}
