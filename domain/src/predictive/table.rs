//! Sums of independent counts, by convolution: a distribution as a table of its probabilities. A weighted
//! choice between distributions is a [`Mixture`](super::Mixture) instead.

use thiserror::Error;

use super::{Mixture, NegativeBinomial};
use crate::special::{COUNT_MAX, count_at_or_below, real};

#[cfg(test)]
mod tests;

/// Rounding allowance of a quantile, in units of the smaller tail; the same as for a single predictive.
const ALLOWANCE: f64 = 32.0 * f64::EPSILON;

/// A distribution of a number of pieces as a table: P(K = k) for k from 0 up to where less than
/// [`TAIL`](Self::TAIL) is left.
///
/// Sums are by direct convolution of positive terms, so that small probabilities keep their digits. Of a
/// probability at most `TAIL` for each distribution that went into it is missing, at the upper end.
///
/// ```
/// use tigstock_domain::predictive::CountTable;
/// // Two Poisson counts with means 1 and 2 add up to one with mean 3.
/// let sum = CountTable::poisson(1.0)?.plus(&CountTable::poisson(2.0)?)?;
/// assert!((sum.pmf(2) - 4.5 * (-3.0_f64).exp()).abs() < 1e-15);
/// # Ok::<(), tigstock_domain::predictive::TableError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CountTable {
    /// P(K = k).
    pmf: Vec<f64>,
    /// P(K <= k), added up from below.
    cdf: Vec<f64>,
    /// P(K > k), added up from above.
    sf: Vec<f64>,
}

/// Why there is no such table.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum TableError {
    /// The table would be longer than [`CountTable::LENGTH_MAX`].
    #[error(
        "counts up to {0} would be needed, and a table ends at 50000; give a smaller exposure or take the parts one by one"
    )]
    TooLong(u64),
    /// A Poisson mean that is negative, infinite or not a number.
    #[error("a mean must be a number from 0 up, not {0}")]
    Mean(f64),
    /// Chances of so many pieces an event that are no distribution.
    #[error(
        "the chances of 1, 2, ... pieces an event must be from 0 up and add up to 1, not to {0}"
    )]
    Pieces(f64),
}

impl CountTable {
    /// What may be left beyond the end.
    pub const TAIL: f64 = 1e-17;
    /// The most counts that a table may have.
    pub const LENGTH_MAX: usize = 50_000;

    /// Nothing for certain: the sum of no counts.
    pub fn nothing() -> Self {
        Self::from_pmf(vec![1.0])
    }

    /// The table of a predictive.
    ///
    /// # Errors
    /// [`TableError::TooLong`].
    pub fn of(uses: &NegativeBinomial) -> Result<Self, TableError> {
        let last = last_of(uses)?;
        Ok(Self::from_pmf((0..=last).map(|k| uses.pmf(k)).collect()))
    }

    /// The table of a mixture.
    ///
    /// # Errors
    /// [`TableError::TooLong`] for counts that a table cannot reach.
    pub fn mixed(uses: &Mixture) -> Result<Self, TableError> {
        let mut sum = vec![0.0; 1];
        for (weight, each) in uses.components() {
            let table = Self::of(each)?;
            sum.resize(sum.len().max(table.pmf.len()), 0.0);
            for (sum, chance) in sum.iter_mut().zip(&table.pmf) {
                *sum += weight * chance;
            }
        }
        Ok(Self::from_pmf(sum))
    }

    /// The table of a Poisson count: use at a rate that is known for certain, with the mean in pieces.
    ///
    /// # Errors
    /// [`TableError`]: a mean that is negative or not finite, or so large that the table is too long.
    pub fn poisson(mean: f64) -> Result<Self, TableError> {
        if !(mean >= 0.0 && mean.is_finite()) {
            return Err(TableError::Mean(mean));
        }
        // Twelve deviations and fifty pieces above the mean less than the tail is left at any mean.
        let length = count_at_or_below(mean + 12.0 * mean.sqrt() + 50.0);
        if length > longest() {
            return Err(TableError::TooLong(length));
        }
        let ln_pmf = |k: u64| {
            if mean > 0.0 {
                real(k) * mean.ln() - mean - libm::lgamma(real(k) + 1.0)
            } else if k == 0 {
                0.0
            } else {
                f64::NEG_INFINITY
            }
        };
        // One exact term in the middle, and its neighbours by their ratios.
        let middle = count_at_or_below(mean);
        let mut pmf = vec![0.0; usize::try_from(length).unwrap_or(0) + 1];
        let at = usize::try_from(middle).unwrap_or(0);
        pmf[at] = ln_pmf(middle).exp();
        for k in (0..at).rev() {
            pmf[k] = pmf[k + 1] * position(k + 1) / mean;
        }
        for k in at + 1..pmf.len() {
            pmf[k] = pmf[k - 1] * mean / position(k);
        }
        Ok(Self::from_pmf(pmf))
    }

    /// The table of pieces that go in clumps: the events are negative binomial, and each takes `n` pieces
    /// with the chance `pieces[n - 1]`.
    ///
    /// The recursion of H. H. Panjer, *ASTIN Bulletin* 12, 1981, which adds positive terms only.
    ///
    /// # Errors
    /// [`TableError`]: chances that are negative or do not add up to 1 within 1e-9; a table too long.
    pub fn in_clumps(events: &NegativeBinomial, pieces: &[f64]) -> Result<Self, TableError> {
        let total: f64 = pieces.iter().sum();
        let is_sound = pieces.iter().all(|chance| *chance >= 0.0) && (total - 1.0).abs() < 1e-9;
        if !is_sound {
            return Err(TableError::Pieces(total));
        }
        let largest = u64::try_from(pieces.len()).unwrap_or(u64::MAX);
        let most = last_of(events)?.saturating_mul(largest);
        let last = usize::try_from(most.min(longest())).unwrap_or(0);
        // P(K = k+1) = P(K = k) (a0 + b0/(k+1)) with a0 = q and b0 = (size - 1) q.
        let (q, b) = (events.q(), (events.size - 1.0) * events.q());
        let mut pmf = vec![0.0; last + 1];
        pmf[0] = events.pmf(0);
        let mut sum = pmf[0];
        for k in 1..=last {
            let whole = position(k);
            let terms = pieces.iter().enumerate().take(k).map(|(before, chance)| {
                let n = position(before + 1);
                (q + b * n / whole) * chance * pmf[k - before - 1]
            });
            pmf[k] = terms.sum::<f64>().max(0.0);
            sum += pmf[k];
            let is_falling =
                pmf[k] < Self::TAIL * 1e-3 && position(k) > events.mean() * real(largest);
            if 1.0 - sum < 1e-15 && is_falling {
                pmf.truncate(k + 1);
                break;
            }
        }
        if 1.0 - sum > 1e-9 {
            return Err(TableError::TooLong(most));
        }
        Ok(Self::from_pmf(pmf))
    }

    /// The table of the sum of this count and another one that is independent of it.
    ///
    /// # Errors
    /// [`TableError::TooLong`].
    pub fn plus(&self, other: &Self) -> Result<Self, TableError> {
        let length = self.pmf.len() + other.pmf.len() - 1;
        if length > Self::LENGTH_MAX {
            return Err(TableError::TooLong(
                u64::try_from(length).unwrap_or(u64::MAX),
            ));
        }
        Ok(Self::from_pmf(convolved(&self.pmf, &other.pmf)).trimmed())
    }

    /// A table of probabilities that add up to 1 but for the tail.
    pub(crate) fn from_pmf(pmf: Vec<f64>) -> Self {
        let mut sum = 0.0;
        let cdf = pmf.iter().map(|mass| {
            sum += mass;
            f64::min(sum, 1.0)
        });
        let cdf = cdf.collect();
        let mut sf = vec![0.0; pmf.len()];
        for k in (1..pmf.len()).rev() {
            sf[k - 1] = f64::min(sf[k] + pmf[k], 1.0);
        }
        Self { pmf, cdf, sf }
    }

    /// Without what adds up to less than the tail at the end.
    fn trimmed(mut self) -> Self {
        let kept = self.sf.partition_point(|left| *left >= Self::TAIL * 1e-3) + 1;
        if kept < self.pmf.len() {
            self.pmf.truncate(kept);
            self.cdf.truncate(kept);
            self.sf.truncate(kept);
        }
        self
    }

    /// P(K = k) for k = 0, 1, 2 and so on.
    pub fn probabilities(&self) -> &[f64] {
        &self.pmf
    }

    /// P(K = k).
    pub fn pmf(&self, k: u64) -> f64 {
        at(&self.pmf, k).unwrap_or(0.0)
    }

    /// P(K <= k).
    pub fn cdf(&self, k: u64) -> f64 {
        at(&self.cdf, k).unwrap_or(1.0)
    }

    /// P(K > k); accurate when it is small, down to the tail that is missing.
    pub fn sf(&self, k: u64) -> f64 {
        at(&self.sf, k).unwrap_or(0.0)
    }

    /// The smallest k with P(K <= k) >= `p`; ends as [`NegativeBinomial::quantile`] does.
    pub fn quantile(&self, p: f64) -> u64 {
        if p <= 0.0 {
            return 0;
        }
        if p.is_nan() || p >= 1.0 {
            return COUNT_MAX;
        }
        let k = if p <= 0.5 {
            self.cdf.partition_point(|sum| *sum < p * (1.0 - ALLOWANCE))
        } else {
            self.sf
                .partition_point(|left| *left > (1.0 - p) * (1.0 + ALLOWANCE))
        };
        u64::try_from(k).unwrap_or(COUNT_MAX)
    }

    /// The expected number of pieces.
    pub fn mean(&self) -> f64 {
        self.moment(|k| k)
    }

    /// The variance of the number of pieces.
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        self.moment(|k| (k - mean).powi(2))
    }

    fn moment(&self, of: impl Fn(f64) -> f64) -> f64 {
        let terms = self.pmf.iter().enumerate();
        terms.map(|(k, mass)| of(position(k)) * mass).sum()
    }
}

/// The probabilities of the sum of two counts.
pub(crate) fn convolved(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut sums = vec![0.0; (a.len() + b.len()).saturating_sub(1)];
    for (i, left) in a.iter().enumerate() {
        if *left > 0.0 {
            for (sum, right) in sums[i..].iter_mut().zip(b) {
                *sum += left * right;
            }
        }
    }
    sums
}

/// The first count beyond which less than the tail is left.
fn last_of(uses: &NegativeBinomial) -> Result<u64, TableError> {
    let mut last = 1_u64;
    while uses.sf(last) >= CountTable::TAIL {
        last = last.saturating_mul(2);
        if last > longest() {
            let likely = uses.quantile(1.0 - 1e-9);
            return if uses.sf(longest()) < CountTable::TAIL {
                Ok(longest())
            } else {
                Err(TableError::TooLong(likely.max(longest())))
            };
        }
    }
    let mut low = last / 2;
    while low + 1 < last {
        let middle = low + (last - low) / 2;
        if uses.sf(middle) < CountTable::TAIL {
            last = middle;
        } else {
            low = middle;
        }
    }
    Ok(last)
}

fn longest() -> u64 {
    u64::try_from(CountTable::LENGTH_MAX - 1).unwrap_or(u64::MAX)
}

fn position(k: usize) -> f64 {
    real(u64::try_from(k).unwrap_or(u64::MAX))
}

fn at(values: &[f64], k: u64) -> Option<f64> {
    values.get(usize::try_from(k).ok()?).copied()
}
