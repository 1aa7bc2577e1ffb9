//! What a predictive means for the drawer: how many are needed, when to order, when it runs out.
//! Jobs of several parts are in [`job`](crate::job).

use chrono::{Days, NaiveDate};
use thiserror::Error;

use crate::predictive::NegativeBinomial;
use crate::special::{count_at_or_below, real};
use crate::wear::Gamma;

#[cfg(test)]
mod tests;

/// The chance that a need is to cover, from 0.5 to 0.9999.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Target(f64);

/// A target out of range.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("a target is from 0.5 to 0.9999, not {0}")]
pub struct TargetError(
    /// The number given.
    pub f64,
);

impl Target {
    /// The target where nothing else is set: 95 %.
    pub const DEFAULT: Self = Self(0.95);

    /// A target chance.
    ///
    /// # Errors
    /// [`TargetError`] outside 0.5 to 0.9999.
    pub fn new(chance: f64) -> Result<Self, TargetError> {
        if (0.5..=0.9999).contains(&chance) {
            Ok(Self(chance))
        } else {
            Err(TargetError(chance))
        }
    }

    /// The chance itself.
    pub fn get(self) -> f64 {
        self.0
    }
}

/// How many pieces are enough with the target chance: the smallest k with P(use <= k) at or above
/// it.
pub fn need(uses: &NegativeBinomial, target: Target) -> u64 {
    uses.quantile(target.get())
}

/// The reorder point: order when the inventory position is at or below it.
///
/// It is the need over lead time and review interval together, for a stock that is reviewed at
/// intervals (Silver, Pyke and Thomas, *Inventory and Production Management in Supply Chains*).
pub fn reorder_point(uses_over_lead_and_review: &NegativeBinomial, target: Target) -> u64 {
    need(uses_over_lead_and_review, target)
}

/// When the last piece goes, as 5 %, 50 % and 95 % points; none where it is beyond the horizon.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RunOut {
    /// With a chance of 5 % it is gone by then.
    pub early: Option<NaiveDate>,
    /// With a chance of 50 % it is gone by then.
    pub median: Option<NaiveDate>,
    /// With a chance of 95 % it is gone by then.
    pub late: Option<NaiveDate>,
}

/// How far run-out dates reach, in days: ten years.
pub const HORIZON_DAYS: u32 = 3_652;

/// When `on_hand` pieces run out at an exposure of `pace_per_day`, spread evenly from the start of
/// the day `start`.
///
/// By time t the use is negative binomial over the exposure t x pace; the run-out has come when it
/// reaches `on_hand`. Each point is the t where that chance is 5 %, 50 % or 95 %, and its date is
/// the day t falls on. Nothing on hand has run out at the start. Without a pace, or beyond
/// [`HORIZON_DAYS`], there is no date.
pub fn run_out(wear: &Gamma, on_hand: i64, pace_per_day: f64, start: NaiveDate) -> RunOut {
    let date = |chance: f64| {
        let days = days_until(wear, on_hand, pace_per_day, chance)?;
        start.checked_add_days(Days::new(count_at_or_below(days)))
    };
    RunOut {
        early: date(0.05),
        median: date(0.5),
        late: date(0.95),
    }
}

/// The days until `on_hand` pieces are used with the given chance, or none within the horizon.
fn days_until(wear: &Gamma, on_hand: i64, pace_per_day: f64, chance: f64) -> Option<f64> {
    let Some(last) = u64::try_from(on_hand)
        .ok()
        .and_then(|pieces| pieces.checked_sub(1))
    else {
        return Some(0.0);
    };
    if pace_per_day.is_nan() || pace_per_day <= 0.0 {
        return None;
    }
    // Only the ratio of exposure to rate matters, and it may be capped: there all is used long ago.
    let has_run_out = |days: f64| {
        let ratio = (days * (pace_per_day / wear.rate())).min(NegativeBinomial::EXPOSURE_MAX);
        NegativeBinomial::new(wear.shape(), 1.0, ratio).is_ok_and(|uses| uses.sf(last) >= chance)
    };
    let (mut before, mut after) = (0.0, real(u64::from(HORIZON_DAYS)));
    if !has_run_out(after) {
        return None;
    }
    // Halving 3652 days until they are well below a second apart.
    for _ in 0..40 {
        let middle = 0.5 * (before + after);
        if has_run_out(middle) {
            after = middle;
        } else {
            before = middle;
        }
    }
    Some(after)
}
