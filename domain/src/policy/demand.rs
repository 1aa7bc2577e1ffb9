//! Demand over one stretch of time, such as a lead time, as a distribution over whole pieces.

use thiserror::Error;

use crate::predictive::{Mixture, NegativeBinomial};
use crate::special::{COUNT_MAX, count_at_or_below, deviance, real, stirling_error};

/// Demand over one stretch of time.
#[derive(Debug, Clone, PartialEq)]
pub enum Demand {
    /// A rate that is known: Poisson with this mean, in pieces.
    Poisson(f64),
    /// A rate that is learned: negative binomial.
    Learned(NegativeBinomial),
    /// A stretch that is not certain, such as a random lead time.
    Mixed(Mixture),
    /// Any other: chances of numbers of pieces, by rising number.
    Listed(Vec<(u64, f64)>),
}

/// Why there is no such demand.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum DemandError {
    /// A mean out of range.
    #[error("the mean of a demand is from 0 to 1000000, not {0}")]
    Mean(f64),
    /// Chances that add up to something else than 1.
    #[error("the chances of a demand add up to 1, not {0}")]
    Chances(f64),
}

impl Demand {
    /// Poisson demand.
    ///
    /// # Errors
    /// [`DemandError::Mean`] outside 0 to 1e6.
    pub fn poisson(mean: f64) -> Result<Self, DemandError> {
        if (0.0..=1e6).contains(&mean) {
            Ok(Self::Poisson(mean))
        } else {
            Err(DemandError::Mean(mean))
        }
    }

    /// Demand by a list of numbers and chances, in any order.
    ///
    /// # Errors
    /// [`DemandError::Chances`] if one is negative or they do not add up to 1 within 1e-9.
    pub fn listed(mut chances: Vec<(u64, f64)>) -> Result<Self, DemandError> {
        let sum: f64 = chances.iter().map(|row| row.1).sum();
        if chances.iter().any(|row| row.1.is_nan() || row.1 < 0.0)
            || !(1.0 - 1e-9..=1.0 + 1e-9).contains(&sum)
        {
            return Err(DemandError::Chances(sum));
        }
        chances.sort_unstable_by_key(|row| row.0);
        Ok(Self::Listed(chances))
    }

    /// The mean, in pieces.
    pub fn mean(&self) -> f64 {
        match self {
            Self::Poisson(mean) => *mean,
            Self::Learned(uses) => uses.mean(),
            Self::Mixed(uses) => uses.mean(),
            Self::Listed(chances) => chances.iter().map(|row| real(row.0) * row.1).sum(),
        }
    }

    /// P(demand = k).
    pub fn pmf(&self, k: u64) -> f64 {
        match self {
            Self::Poisson(mean) => poisson(*mean, k),
            Self::Learned(uses) => uses.pmf(k),
            Self::Mixed(uses) => uses.pmf(k),
            Self::Listed(chances) => chances
                .iter()
                .filter(|row| row.0 == k)
                .map(|row| row.1)
                .sum(),
        }
    }

    /// P(demand <= k).
    pub fn cdf(&self, k: u64) -> f64 {
        match self {
            Self::Poisson(mean) => (0..=k).map(|k| poisson(*mean, k)).sum::<f64>().min(1.0),
            Self::Learned(uses) => uses.cdf(k),
            Self::Mixed(uses) => uses.cdf(k),
            Self::Listed(chances) => chances
                .iter()
                .filter(|row| row.0 <= k)
                .map(|row| row.1)
                .sum(),
        }
    }

    /// P(demand <= k) for any whole number; 0 below 0.
    pub(super) fn cdf_at(&self, k: i64) -> f64 {
        u64::try_from(k).map_or(0.0, |k| self.cdf(k))
    }

    /// The smallest k with P(demand <= k) >= `p`; equality counts, to within rounding. 0 for `p` at or
    /// below 0, the largest count for 1 and more.
    pub fn quantile(&self, p: f64) -> u64 {
        match self {
            Self::Learned(uses) => uses.quantile(p),
            Self::Mixed(uses) => uses.quantile(p),
            Self::Listed(chances) => {
                let mut sum = 0.0;
                let reached = chances.iter().find(|row| {
                    sum += row.1;
                    sum >= p - 1e-12
                });
                reached.map_or(COUNT_MAX, |row| row.0)
            }
            Self::Poisson(mean) => {
                if p.is_nan() || p >= 1.0 {
                    return COUNT_MAX;
                }
                let (mut sum, mut k) = (0.0, 0);
                loop {
                    sum += poisson(*mean, k);
                    // Far beyond the mean nothing is added any more.
                    if sum >= p * (1.0 - 1e-14) || k > count_at_or_below(20.0 * mean + 1e4) {
                        return k;
                    }
                    k += 1;
                }
            }
        }
    }
}

/// The Poisson probability in Loader's saddle-point form.
fn poisson(mean: f64, k: u64) -> f64 {
    if mean <= 0.0 {
        return if k == 0 { 1.0 } else { 0.0 };
    }
    if k == 0 {
        return (-mean).exp();
    }
    let k = real(k);
    let exponent = -stirling_error(k) - deviance(k, mean, k - mean);
    exponent.exp() / (2.0 * std::f64::consts::PI * k).sqrt()
}
