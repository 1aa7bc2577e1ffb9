//! Mixtures of predictives: use over an exposure, a lead time or a wear rate that is itself not
//! certain. Where the weights come from is not decided here.

use thiserror::Error;

use super::NegativeBinomial;
use crate::special::{COUNT_MAX, count_at_or_below, real};

/// Between these a negative binomial is a number of pieces that can be told; the last is as good as Poisson.
const SIZE_MIN: f64 = 0.001;
const SIZE_MAX: f64 = 1e9;

mod quantile;
#[cfg(test)]
mod tests;

/// Parts used when one of several predictives holds, each with its chance: P(K = k) is the weighted
/// sum of theirs.
///
/// Everything is exact: probabilities are sums of exact probabilities, a quantile is the smallest
/// count whose exact tail reaches the chance. Nothing is matched to a mean and a variance. Law of
/// total probability; Johnson, Kemp and Kotz, *Univariate Discrete Distributions*, chapter 8.
///
/// ```
/// use tigstock_domain::predictive::Mixture;
/// use tigstock_domain::wear::Gamma;
/// // Gamma(1, 1) over 1 or over 3 arc hours, each as likely: P(none) = (1/2 + 1/4) / 2.
/// let wear = Gamma::new(1.0, 1.0)?;
/// let uses = Mixture::new([(1.0, wear.predictive(1.0)?), (1.0, wear.predictive(3.0)?)])?;
/// assert!((uses.cdf(0) - 0.375).abs() < 1e-15);
/// assert!((uses.mean() - 2.0).abs() < 1e-15);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture {
    /// Weights above 0 that add up to 1.
    components: Vec<(f64, NegativeBinomial)>,
}

/// Why there is no such mixture.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum MixtureError {
    /// A weight is negative, infinite or not a number.
    #[error("a weight must be a number from 0 up, not {0}; leave out what cannot be")]
    Weight(f64),
    /// There is no component with a weight above 0, or the weights add up to no finite number.
    #[error("the weights add up to {0}; give at least one component with a weight above 0")]
    Total(f64),
}

impl Mixture {
    /// The mixture of predictives with their weights, which need not add up to 1: only their ratios
    /// count. Components of weight 0 are left out.
    ///
    /// # Errors
    /// [`MixtureError`]: a weight that is negative or not finite, or none above 0.
    pub fn new(
        components: impl IntoIterator<Item = (f64, NegativeBinomial)>,
    ) -> Result<Self, MixtureError> {
        let mut kept: Vec<(f64, NegativeBinomial)> = Vec::new();
        for (weight, uses) in components {
            if !(weight >= 0.0 && weight.is_finite()) {
                return Err(MixtureError::Weight(weight));
            }
            if weight > 0.0 {
                kept.push((weight, uses));
            }
        }
        let total: f64 = kept.iter().map(|(weight, _)| weight).sum();
        if !(total > 0.0 && total.is_finite()) {
            return Err(MixtureError::Total(total));
        }
        for (weight, _) in &mut kept {
            *weight /= total;
        }
        // A weight may have been so small beside the others that nothing is left of it.
        kept.retain(|(weight, _)| *weight > 0.0);
        Ok(Self { components: kept })
    }

    /// The mixture of mixtures with their weights, as over a lead time that is not certain.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn mixed(cases: impl IntoIterator<Item = (f64, Self)>) -> Result<Self, MixtureError> {
        let components = cases.into_iter().flat_map(|(chance, uses)| {
            let each = uses.components.into_iter();
            each.map(move |(weight, uses)| (chance * weight, uses))
        });
        Self::new(components)
    }

    /// This use and another that is independent of it, together: each component is replaced by the negative
    /// binomial with the mean and the variance of its sum with `other`.
    ///
    /// Matched, not exact: where both are spread about alike it errs by less than 0.01 in the chances. The exact
    /// sum is [`CountTable::plus`](super::CountTable::plus). A sum that varies less than at random counts as
    /// random.
    ///
    /// # Errors
    /// [`PredictiveError`](super::PredictiveError) for means beyond 1e9.
    pub fn and(&self, other: &Self) -> Result<Self, super::PredictiveError> {
        let (mean, variance) = (other.mean(), other.variance());
        let mut components = Vec::with_capacity(self.components.len());
        for (weight, uses) in &self.components {
            let mean = mean + uses.mean();
            let over = variance + uses.variance() - mean;
            let size = (mean * mean / over.max(f64::MIN_POSITIVE)).clamp(SIZE_MIN, SIZE_MAX);
            components.push((*weight, NegativeBinomial::new(size, 1.0, mean / size)?));
        }
        Ok(Self { components })
    }

    /// The components with their weights, which add up to 1.
    pub fn components(&self) -> &[(f64, NegativeBinomial)] {
        &self.components
    }

    /// Expected use, in pieces.
    pub fn mean(&self) -> f64 {
        self.weighted(NegativeBinomial::mean)
    }

    /// Variance of use: the mean of the variances and the variance of the means.
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        self.weighted(|uses| uses.variance() + (uses.mean() - mean).powi(2))
    }

    /// P(use = k).
    pub fn pmf(&self, k: u64) -> f64 {
        self.weighted(|uses| uses.pmf(k))
    }

    /// P(use <= k), the chance that k pieces last.
    pub fn cdf(&self, k: u64) -> f64 {
        self.weighted(|uses| uses.cdf(k)).min(1.0)
    }

    /// P(use > k), the chance of being short with k pieces; accurate when it is tiny.
    pub fn sf(&self, k: u64) -> f64 {
        self.weighted(|uses| uses.sf(k)).min(1.0)
    }

    /// The smallest k with P(use <= k) >= `p`: how many pieces are enough with chance `p`.
    ///
    /// As [`NegativeBinomial::quantile`], with the same allowance for rounding and the same ends.
    pub fn quantile(&self, p: f64) -> u64 {
        quantile::quantile(self, p)
    }

    /// The quantiles at several chances, in the order given; cheaper than one by one.
    pub fn quantiles(&self, chances: &[f64]) -> Vec<u64> {
        quantile::quantiles(self, chances)
    }

    /// P(use <= k) for k = 0, 1, 2 and so on, up to the first k with P(use > k) below `tail`, or
    /// `longest` values at most.
    pub fn cdf_table(&self, tail: f64, longest: usize) -> Vec<f64> {
        let mut table = Vec::new();
        for k in (0..COUNT_MAX).take(longest) {
            table.push(self.cdf(k));
            if self.sf(k) < tail {
                break;
            }
        }
        table
    }

    fn weighted(&self, value: impl Fn(&NegativeBinomial) -> f64) -> f64 {
        self.components
            .iter()
            .map(|(weight, uses)| weight * value(uses))
            .sum()
    }
}

impl From<NegativeBinomial> for Mixture {
    fn from(uses: NegativeBinomial) -> Self {
        Self {
            components: vec![(1.0, uses)],
        }
    }
}
