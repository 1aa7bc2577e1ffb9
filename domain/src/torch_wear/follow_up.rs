//! After a repair: whether the torch is as fast as before, or like the others again. When a repair was
//! made is not known here.

use thiserror::Error;

use crate::predictive::PredictiveError;
use crate::special::{gamma, real};
use crate::wear::Gamma;

use super::scan::Window;

/// A chance below this rules out what it is the chance of. Common practice.
const UNLIKELY: f64 = 0.05;
/// A torch that waits longer than this for an answer waits for nothing; in units of exposure.
const WAIT_MAX: f64 = 1e6;

/// What a torch used since a repair, held against both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FollowUp {
    /// Pieces used since.
    pub used: u64,
    /// Pieces that a torch like the others uses over the same exposure on average.
    pub expected: f64,
    /// P(N <= used) of a torch like the others: negative binomial.
    pub as_few_if_normal: f64,
    /// P(N >= used) of a torch like the others.
    pub as_many_if_normal: f64,
    /// P(N <= used) at the rate before the repair, taken as it was found: Poisson.
    pub as_few_if_unchanged: f64,
    /// What that comes to.
    pub outcome: Outcome,
    /// So much more exposure without a piece used would rule out the old rate; 0 once it is.
    pub to_wait: f64,
}

/// What a repair came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// So few are unlikely at the old rate, and not too many for a torch like the others.
    LooksNormal,
    /// Still more than a torch like the others uses.
    StillFast,
    /// Too little work since to tell.
    TooEarly,
}

/// Why a repair cannot be followed up.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum FollowUpError {
    /// There is no old rate.
    #[error("nothing was used before the repair, so there is no old rate to compare with")]
    NoOldRate,
    /// An exposure is out of range.
    #[error(transparent)]
    Exposure(#[from] PredictiveError),
}

impl FollowUp {
    /// Since a repair `used` pieces over `exposure`; before it, the window `before`.
    ///
    /// # Errors
    /// [`FollowUpError`]: nothing used before, or an exposure that is negative, beyond 1e9 or no number.
    ///
    /// ```
    /// use tigstock_domain::torch_wear::{FollowUp, Outcome, WorkDay, window};
    /// use tigstock_domain::wear::Gamma;
    /// let others = Gamma::new(60.0, 430.0)?;
    /// let before = window(&[WorkDay { day: 1, exposure: 24.0, used: 10 }], 1, &others)?;
    /// let after = FollowUp::new(&before, (1, 12.0), &others)?;
    /// // At 10 in 24 hours, 5 are expected in 12: P(N <= 1) = 6 exp(-5).
    /// assert!((after.as_few_if_unchanged - 6.0 * (-5.0_f64).exp()).abs() < 1e-12);
    /// assert_eq!(after.outcome, Outcome::LooksNormal);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(
        before: &Window,
        (used, exposure): (u64, f64),
        others: &Gamma,
    ) -> Result<Self, FollowUpError> {
        let uses = others.predictive(exposure)?;
        if before.used == 0 || before.exposure <= 0.0 {
            return Err(FollowUpError::NoOldRate);
        }
        let old = real(before.used) / before.exposure;
        let as_many = used.checked_sub(1).map_or(1.0, |below| uses.sf(below));
        let as_few_if_unchanged = poisson_cdf(used, old * exposure);
        let outcome = if as_many <= UNLIKELY {
            Outcome::StillFast
        } else if as_few_if_unchanged <= UNLIKELY {
            Outcome::LooksNormal
        } else {
            Outcome::TooEarly
        };
        Ok(Self {
            used,
            expected: uses.mean(),
            as_few_if_normal: uses.cdf(used),
            as_many_if_normal: as_many,
            as_few_if_unchanged,
            outcome,
            to_wait: to_wait(used, exposure, old),
        })
    }
}

/// P(N <= k) of a Poisson count with this mean: Q(k + 1, mean), the regularised upper incomplete gamma
/// function (NIST DLMF 8.4.10).
fn poisson_cdf(k: u64, mean: f64) -> f64 {
    if mean <= 0.0 {
        1.0
    } else {
        gamma::upper(real(k) + 1.0, mean)
    }
}

/// How much more exposure without use makes so few unlikely at the old rate.
fn to_wait(used: u64, exposure: f64, old: f64) -> f64 {
    let (mut low, mut high) = (exposure, WAIT_MAX.max(exposure));
    if poisson_cdf(used, old * low) <= UNLIKELY {
        return 0.0;
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if poisson_cdf(used, old * middle) <= UNLIKELY {
            high = middle;
        } else {
            low = middle;
        }
    }
    high - exposure
}
