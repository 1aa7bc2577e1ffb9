//! How many parts a coming piece of work will use: the negative binomial predictive of a gamma
//! wear rate. Where the rate comes from is in [`wear`](crate::wear).

use thiserror::Error;

use crate::special::{self, beta};
use crate::wear::Gamma;

mod law;
mod mixture;
mod quantile;
mod table;
#[cfg(test)]
mod tests;

pub use law::Law;
pub use mixture::{Mixture, MixtureError};
pub use table::{CountTable, TableError};

/// Parts used over an exposure T when the wear rate is Gamma(a, b): negative binomial with
/// P(K = k) = G(a+k) / (G(a) k!) p^a q^k, p = b/(b+T), q = T/(b+T).
///
/// T and b are in the same unit (arc hours, grinds, weeks). At T = 0 all mass is at 0. Mixture of
/// Poisson counts over a gamma rate: Greenwood and Yule, *Journal of the Royal Statistical
/// Society* 83, 1920; Gelman and others, *Bayesian Data Analysis*.
///
/// ```
/// use tigstock_domain::predictive::NegativeBinomial;
/// use tigstock_domain::wear::Gamma;
/// // 58 electrodes in 410 arc hours on a starting assumption of Gamma(2, 20); 34 hours to come.
/// let wear = Gamma::new(2.0, 20.0)?.posterior(58, 410.0)?;
/// let uses = wear.predictive(34.0)?;
/// assert_eq!(uses.quantile(0.95), 9);
/// assert!((uses.cdf(3) - 0.3131).abs() < 5e-5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NegativeBinomial {
    size: f64,
    rate: f64,
    exposure: f64,
}

/// Why there is no such distribution.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum PredictiveError {
    /// The exposure is negative, beyond 1e9, or not a number.
    #[error("an exposure must be from 0 to 1000000000, not {0}")]
    Exposure(f64),
    /// The wear rate it would stand on is out of range.
    #[error(transparent)]
    Rate(#[from] crate::wear::GammaError),
}

impl NegativeBinomial {
    /// The largest exposure, in its unit.
    pub const EXPOSURE_MAX: f64 = 1e9;

    /// The predictive of size a = `size`, rate b = `rate` over the exposure T = `exposure`.
    ///
    /// # Errors
    /// [`PredictiveError`]: size and rate must make a [`Gamma`]; the exposure is from 0 to 1e9.
    pub fn new(size: f64, rate: f64, exposure: f64) -> Result<Self, PredictiveError> {
        let gamma = Gamma::new(size, rate)?;
        Self::over(&gamma, exposure)
    }

    /// The predictive of a wear rate over an exposure.
    ///
    /// # Errors
    /// [`PredictiveError::Exposure`] outside 0 to 1e9.
    pub fn over(wear: &Gamma, exposure: f64) -> Result<Self, PredictiveError> {
        if (0.0..=Self::EXPOSURE_MAX).contains(&exposure) {
            Ok(Self {
                size: wear.shape(),
                rate: wear.rate(),
                exposure,
            })
        } else {
            Err(PredictiveError::Exposure(exposure))
        }
    }

    /// The same over `factor` times the exposure: what all parts of one piece of work share. The
    /// product is kept within 0 and [`EXPOSURE_MAX`](Self::EXPOSURE_MAX); not a number counts as 1.
    #[must_use]
    pub fn stretched(&self, factor: f64) -> Self {
        let factor = if factor.is_nan() { 1.0 } else { factor };
        Self {
            exposure: (self.exposure * factor).clamp(0.0, Self::EXPOSURE_MAX),
            ..*self
        }
    }

    /// The size a: the smaller, the wider the spread about the mean.
    pub fn size(&self) -> f64 {
        self.size
    }

    /// The exposure T it is over.
    pub fn exposure(&self) -> f64 {
        self.exposure
    }

    /// Expected use, a T / b.
    pub fn mean(&self) -> f64 {
        self.size * (self.exposure / self.rate)
    }

    /// Variance of use, (a T / b) (1 + T / b).
    pub fn variance(&self) -> f64 {
        self.mean() * (1.0 + self.exposure / self.rate)
    }

    /// p = b/(b+T).
    fn p(&self) -> f64 {
        self.rate / (self.rate + self.exposure)
    }

    /// q = 1 - p = T/(b+T), without the cancellation.
    fn q(&self) -> f64 {
        self.exposure / (self.rate + self.exposure)
    }

    /// ln p, accurate when p is near 1.
    fn ln_p(&self) -> f64 {
        -(self.exposure / self.rate).ln_1p()
    }

    /// The natural logarithm of P(use = k); negative infinity where that is impossible.
    ///
    /// In Loader's saddle-point form, so that no digits are lost for large counts or shapes.
    pub fn ln_pmf(&self, k: u64) -> f64 {
        if k == 0 {
            return self.size * self.ln_p();
        }
        if self.exposure <= 0.0 {
            return f64::NEG_INFINITY;
        }
        beta::ln_front(special::real(k), self.size, self.q(), self.p())
    }

    /// P(use = k).
    pub fn pmf(&self, k: u64) -> f64 {
        self.ln_pmf(k).exp()
    }

    /// P(use <= k), the chance that k pieces last.
    ///
    /// `I_p(a, k+1)`, the regularised incomplete beta function (Johnson, Kemp and Kotz, *Univariate
    /// Discrete Distributions*, chapter 5).
    pub fn cdf(&self, k: u64) -> f64 {
        if self.exposure <= 0.0 {
            1.0
        } else if self.is_upper(k) {
            1.0 - self.upper(k)
        } else {
            self.lower(k)
        }
    }

    /// P(use > k), the chance of being short with k pieces; accurate when it is tiny.
    pub fn sf(&self, k: u64) -> f64 {
        if self.exposure <= 0.0 {
            0.0
        } else if self.is_upper(k) {
            self.upper(k)
        } else {
            1.0 - self.lower(k)
        }
    }

    /// Whether the upper tail at k is the one whose continued fraction converges fast.
    fn is_upper(&self, k: u64) -> bool {
        let k = special::real(k);
        self.p() * (self.size + k + 3.0) > self.size + 1.0
    }

    /// P(use <= k) as a sum downwards, or as a continued fraction with the probability of k in
    /// front.
    fn lower(&self, k: u64) -> f64 {
        let (a, q) = (self.size, self.q());
        let front = self.pmf(k);
        let sum = if k <= 32 {
            let (mut term, mut sum) = (1.0, 1.0);
            for i in (1..=k).rev() {
                let i = special::real(i);
                term *= i / ((a + i - 1.0) * q);
                sum += term;
            }
            sum
        } else {
            let k = special::real(k);
            (a + k) * q / a * beta::fraction(a, k + 1.0, self.p(), q)
        };
        (front * sum).min(1.0)
    }

    /// P(use > k) as a sum upwards where that is short, else as a continued fraction.
    fn upper(&self, k: u64) -> f64 {
        let (a, q) = (self.size, self.q());
        let front = self.pmf(k + 1);
        let next = special::real(k + 1);
        let ratio = |j: f64| q * (a + j) / (j + 1.0);
        // Ratios fall towards q from above if a > 1 and rise towards it from below otherwise.
        let sum = if ratio(next).max(q) < 0.6 {
            let (mut term, mut sum, mut j) = (1.0, 1.0, next);
            while term > f64::EPSILON * 0.25 * sum {
                term *= ratio(j);
                sum += term;
                j += 1.0;
            }
            sum
        } else {
            beta::fraction(next, a, q, self.p())
        };
        (front * sum).min(1.0)
    }

    /// The smallest k with P(use <= k) >= `p`: how many pieces are enough with chance `p`.
    ///
    /// Exact, never a normal approximation. A probability that agrees with `p` to within rounding
    /// (32 units in the last place of the smaller tail) counts as reaching it. `p` at or below 0
    /// gives 0; at or above 1, or not a number, the largest count 2^53, where very large quantiles
    /// end too.
    pub fn quantile(&self, p: f64) -> u64 {
        quantile::quantile(self, p)
    }
}
