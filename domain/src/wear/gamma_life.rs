//! Parts that wear out: lives that are more regular than chance, as gamma variables. Whether a record speaks for
//! that is in `regularity`, how lives are read off a record in `record`, torches whose parts are part-worn in `worn`; use
//! at random is in the parent.

use thiserror::Error;

use super::{Gamma, GammaError};
use crate::predictive::{CountTable, Law, PredictiveError, TableError};
use crate::special::{self, COUNT_MAX, beta};

mod record;
mod regularity;
#[cfg(test)]
mod tests;
mod worn;

pub use record::{Happened, lives};
pub use regularity::{BAYES_FACTOR_MIN, LIVES_MIN, Regularity, SHAPES};
pub use worn::Position;

/// What is known of the lives that ended: how many, over what exposure, and how regular.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lives {
    whole: u64,
    exposure: f64,
    /// The sum of the logarithms of the lives.
    ln_sum: f64,
}

/// Why there is no such life, or nothing that follows from it.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum LifeError {
    /// A life without length, or beyond all bounds.
    #[error(
        "a life is above 0 and at most 1000000000 units of exposure, not {0}; leave out parts that broke when new"
    )]
    Life(f64),
    /// An age that is negative or beyond all bounds.
    #[error("the age of a part is from 0 to 1000000000 units of exposure, not {0}")]
    Age(f64),
    /// The shape is out of range.
    #[error("the shape of a life is from 1 (at random) to 100 (all but equal), not {0}")]
    Shape(f64),
    /// What is known went out of range.
    #[error(transparent)]
    Rate(#[from] GammaError),
    /// An exposure to come is out of range.
    #[error(transparent)]
    Exposure(#[from] PredictiveError),
    /// So many parts would be used that no table holds them.
    #[error(transparent)]
    Table(#[from] TableError),
}

impl Lives {
    /// The longest life, in units of exposure.
    pub const LIFE_MAX: f64 = 1e9;

    /// No life has ended.
    pub const NONE: Self = Self {
        whole: 0,
        exposure: 0.0,
        ln_sum: 0.0,
    };

    /// And one more, from new to worn out, in units of exposure.
    ///
    /// # Errors
    /// [`LifeError::Life`] for one that is not above 0, or above 1e9.
    pub fn and(mut self, life: f64) -> Result<Self, LifeError> {
        if !(life > 0.0 && life <= Self::LIFE_MAX) {
            return Err(LifeError::Life(life));
        }
        self.whole = self.whole.saturating_add(1);
        self.exposure += life;
        self.ln_sum += life.ln();
        Ok(self)
    }

    /// How many lives ended.
    pub fn whole(&self) -> u64 {
        self.whole
    }

    /// The exposure of all of them.
    pub fn exposure(&self) -> f64 {
        self.exposure
    }
}

/// What is known of the life of a part: gamma with a shape k and a rate that is itself Gamma(a, b).
///
/// The mean life at rate r is k / r, its coefficient of variation 1 / sqrt(k): shape 1 is use at random, a large
/// shape is wear-out. A starting assumption of a0 pieces in b0 units of exposure counts as a0 lives over b0,
/// whatever the shape, so that the rate starts as Gamma(k a0, b0); n lives over E make that
/// Gamma(k (a0 + n), b0 + E). Gamma with known shape and gamma rate are conjugate: Gelman and others, *Bayesian Data
/// Analysis*; counts of gamma lives: D. R. Cox, *Renewal Theory*.
///
/// ```
/// use tigstock_domain::wear::Gamma;
/// use tigstock_domain::wear::gamma_life::{GammaLife, Lives};
/// // Eight electrodes lasted 20 grinds each, give or take; two in 40 grinds were assumed.
/// let mut lives = Lives::NONE;
/// for life in [18.0, 22.0, 21.0, 19.0, 20.0, 17.0, 23.0, 20.0] {
///     lives = lives.and(life)?;
/// }
/// let even = GammaLife::new(9.0, &Gamma::new(2.0, 40.0)?, &lives)?;
/// let random = GammaLife::new(1.0, &Gamma::new(2.0, 40.0)?, &lives)?;
/// // Over 100 grinds both expect about five, but not with the same certainty.
/// assert_eq!((even.fresh(100.0)?.quantile(0.95), random.fresh(100.0)?.quantile(0.95)), (6, 10));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GammaLife {
    shape: f64,
    known: Gamma,
}

impl GammaLife {
    /// The largest shape.
    pub const SHAPE_MAX: f64 = 100.0;

    /// Lives of that shape, on a starting assumption in pieces per unit of exposure.
    ///
    /// # Errors
    /// [`LifeError`]: a shape outside 1 to 100, or what is known out of range.
    pub fn new(shape: f64, assumed: &Gamma, lives: &Lives) -> Result<Self, LifeError> {
        if !(1.0..=Self::SHAPE_MAX).contains(&shape) {
            return Err(LifeError::Shape(shape));
        }
        let pieces = assumed.shape() + special::real(lives.whole);
        let known = Gamma::new(shape * pieces, assumed.rate() + lives.exposure)?;
        Ok(Self { shape, known })
    }

    /// The shape k.
    pub fn shape(&self) -> f64 {
        self.shape
    }

    /// What is known of the rate of the lives, `Gamma(k (a0 + n), b0 + E)`; not that of the pieces.
    pub fn known(&self) -> &Gamma {
        &self.known
    }

    /// The mean wear rate in pieces per unit of exposure, a / (b k).
    pub fn mean_rate(&self) -> f64 {
        self.known.mean() / self.shape
    }

    /// How many parts one position uses over an exposure, if it starts with a fresh one.
    ///
    /// # Errors
    /// [`LifeError::Exposure`] outside 0 to 1e9.
    pub fn fresh(&self, exposure: f64) -> Result<FreshUse, LifeError> {
        // The same bounds as those of a predictive.
        self.known.predictive(exposure)?;
        Ok(FreshUse {
            shape: self.shape,
            known: self.known,
            exposure,
        })
    }

    /// How many parts several positions use together, each over its exposure and with a part of its age.
    ///
    /// All share the rate of wear, so their counts are not independent: given the rate they are convolved, and the
    /// rate is integrated over. That the parts in use have lasted as long as they have is evidence too, and is
    /// counted. Parts in use of positions that are not exposed at all count with exposure 0.
    ///
    /// At shape 1 a part has no memory: it is the negative binomial over all exposure, exactly. Otherwise the
    /// chances are good to about 1e-6.
    ///
    /// # Errors
    /// [`LifeError`]: an age or an exposure out of range, or a table too long.
    pub fn over(&self, positions: &[Position]) -> Result<CountTable, LifeError> {
        worn::over(self, positions)
    }
}

/// How many parts one position uses over an exposure T, starting with a fresh one.
///
/// P(N >= j) is the chance that j lives end within T: `I_q(j k, a)` with q = T / (b + T), the regularised incomplete
/// beta function, since j lives together are Gamma(j k) at a rate that is Gamma(a, b). At shape 1 it is the
/// negative binomial of [`Gamma::predictive`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreshUse {
    shape: f64,
    known: Gamma,
    exposure: f64,
}

impl FreshUse {
    /// Sums longer than this are replaced by their limit.
    const TERMS_MAX: u64 = 20_000;

    /// P(N >= j) and P(N < j).
    fn reached(&self, j: u64) -> (f64, f64) {
        if j == 0 {
            return (1.0, 0.0);
        }
        let all = self.known.rate() + self.exposure;
        let (q, p) = (self.exposure / all, self.known.rate() / all);
        beta::regularised(special::real(j) * self.shape, self.known.shape(), q, p)
    }

    /// P(N > n); accurate when it is tiny.
    pub fn sf(&self, n: u64) -> f64 {
        self.reached(n.saturating_add(1)).0
    }

    /// P(N = n).
    pub fn pmf(&self, n: u64) -> f64 {
        let (here, next) = (self.reached(n), self.reached(n.saturating_add(1)));
        // The difference of the smaller tails keeps its digits.
        if here.0 <= 0.5 {
            (here.0 - next.0).max(0.0)
        } else {
            (next.1 - here.1).max(0.0)
        }
    }

    /// The expected number, the sum of P(N >= j) over j from 1; beyond 20 000 terms its limit for long exposures,
    /// a T / (b k) - (k - 1) / (2 k) (Cox).
    pub fn mean(&self) -> f64 {
        let (k, mean) = (self.shape, self.known.mean() * self.exposure / self.shape);
        if (k - 1.0).abs() < f64::EPSILON {
            return mean;
        }
        let mut sum = 0.0;
        for j in 1..Self::TERMS_MAX {
            let term = self.reached(j).0;
            sum += term;
            if term < 1e-15 {
                return sum;
            }
        }
        (mean - (k - 1.0) / (2.0 * k)).max(sum)
    }

    /// P(N <= n), the chance that n parts are enough.
    pub fn cdf(&self, n: u64) -> f64 {
        self.reached(n.saturating_add(1)).1
    }

    /// The smallest n with P(N <= n) >= `p`; ends as [`NegativeBinomial::quantile`] does.
    ///
    /// [`NegativeBinomial::quantile`]: crate::predictive::NegativeBinomial::quantile
    pub fn quantile(&self, p: f64) -> u64 {
        const ALLOWANCE: f64 = 32.0 * f64::EPSILON;
        if p <= 0.0 {
            return 0;
        }
        if p.is_nan() || p >= 1.0 {
            return COUNT_MAX;
        }
        let reaches = |n: u64| {
            let (above, within) = self.reached(n.saturating_add(1));
            if p <= 0.5 {
                within >= p * (1.0 - ALLOWANCE)
            } else {
                above <= (1.0 - p) * (1.0 + ALLOWANCE)
            }
        };
        if reaches(0) {
            return 0;
        }
        let (mut low, mut high) = (0, 1);
        while !reaches(high) {
            if high >= COUNT_MAX {
                return COUNT_MAX;
            }
            (low, high) = (high, high * 2);
        }
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if reaches(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        high
    }
}

impl Law for FreshUse {
    fn cdf(&self, k: u64) -> f64 {
        FreshUse::cdf(self, k)
    }

    fn quantile(&self, p: f64) -> u64 {
        FreshUse::quantile(self, p)
    }
}
