//! A factor that all parts of one piece of work share: the hours of a job that nobody knows exactly,
//! or how clumsy a course is. Its distribution and the points to integrate over it; what is
//! integrated is in [`job`](crate::job).

use thiserror::Error;

#[cfg(test)]
mod tests;

/// How many points a factor with spread is integrated over: enough for a chance that falls from 1 to
/// 0 within a tenth of the factor's mean.
const NODES: u32 = 96;

/// A factor with mean 1 on the exposure of a whole piece of work, gamma distributed.
///
/// With spread s, the coefficient of variation, it is `Gamma(k, k)` with k = 1/s^2: standard
/// deviation s, and exponential at s = 1. With s = 0 it is 1 for certain. Because all parts share
/// it, a joint chance is the mean over the factor of the product over the parts, not a product of
/// means: E(prod P(use <= available | factor)).
///
/// ```
/// use tigstock_domain::shared_factor::SharedFactor;
/// let hours = SharedFactor::new(0.3)?;
/// let mean: f64 = hours.nodes().iter().map(|node| node.weight * node.factor).sum();
/// assert!((mean - 1.0).abs() < 1e-12);
/// assert_eq!(SharedFactor::NONE.nodes().len(), 1);
/// # Ok::<(), tigstock_domain::shared_factor::SpreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct SharedFactor {
    spread: f64,
}

/// One point of the integral over a factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// What the exposure is multiplied with, above 0.
    pub factor: f64,
    /// How much this point counts, from 0 to 1; the weights add up to 1.
    pub weight: f64,
}

/// A spread out of range.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error(
    "a spread is from 0 (known exactly) to 1 (as far off as it is large), not {0}: give the standard deviation over the mean"
)]
pub struct SpreadError(
    /// The number given.
    pub f64,
);

impl SharedFactor {
    /// No spread: what is planned is what will be.
    pub const NONE: Self = Self { spread: 0.0 };

    /// Spreads below this count as none: they change no chance in its first nine digits.
    pub const SPREAD_MIN: f64 = 1e-5;

    /// A factor of the given spread, the coefficient of variation.
    ///
    /// # Errors
    /// [`SpreadError`] outside 0 to 1.
    pub fn new(spread: f64) -> Result<Self, SpreadError> {
        if (0.0..=1.0).contains(&spread) {
            Ok(Self { spread })
        } else {
            Err(SpreadError(spread))
        }
    }

    /// The spread, from 0 to 1.
    pub fn spread(self) -> f64 {
        self.spread
    }

    /// Whether there is no spread that counts.
    pub fn is_none(self) -> bool {
        self.spread < Self::SPREAD_MIN
    }

    /// The points and weights to integrate over the factor, in rising order of the factor; a single
    /// point at 1 without spread.
    ///
    /// The trapezoidal rule over t with f = exp(t - exp(-t)), which takes the density of
    /// `Gamma(k, k)` to 0 doubly exponentially on the left and exponentially on the right, so that
    /// the rule converges exponentially (Takahasi and Mori, *Publications of the Research Institute
    /// for Mathematical Sciences* 9, 1974). Gauss quadrature was tried and is worse here: its points
    /// are too far apart for the steep chances of parts that are used by the dozen.
    pub fn nodes(self) -> Vec<Node> {
        if self.is_none() {
            return vec![Node {
                factor: 1.0,
                weight: 1.0,
            }];
        }
        let (low, high) = (self.end(-1.0), self.end(1.0));
        let width = (high - low) / f64::from(NODES - 1);
        let peak = self.ln_density(ONE);
        let mut nodes: Vec<Node> = (0..NODES)
            .map(|step| {
                let t = low + width * f64::from(step);
                Node {
                    factor: ln_factor(t).exp(),
                    weight: (self.ln_density(t) - peak).exp(),
                }
            })
            .collect();
        let sum: f64 = nodes.iter().map(|node| node.weight).sum();
        for node in &mut nodes {
            node.weight /= sum;
        }
        nodes
    }

    /// The logarithm of the density over t, but for a constant.
    fn ln_density(self, t: f64) -> f64 {
        let k = 1.0 / (self.spread * self.spread);
        let y = ln_factor(t);
        // k (y - e^y + 1), without cancellation where y is small; and d y / d t.
        k * (y - y.exp_m1()) + (-t).exp().ln_1p()
    }

    /// Where the density has fallen to nothing, going in one direction from its peak.
    fn end(self, direction: f64) -> f64 {
        const NOTHING: f64 = 41.0;
        let peak = self.ln_density(ONE);
        let mut t = ONE;
        while self.ln_density(t) > peak - NOTHING {
            t += direction * self.spread / 16.0;
        }
        t
    }
}

/// The t where the factor is 1: t = exp(-t).
const ONE: f64 = 0.567_143_290_409_784;

/// The logarithm of the factor at t.
fn ln_factor(t: f64) -> f64 {
    t - (-t).exp()
}

impl Default for SharedFactor {
    fn default() -> Self {
        Self::NONE
    }
}
