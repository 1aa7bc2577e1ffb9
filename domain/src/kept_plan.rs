//! How well a shop keeps to its plans: the work that was done over the work that was planned, by how
//! many days the plan looked ahead. Learned from the shop's own plans, not invented.

use thiserror::Error;

#[cfg(test)]
mod tests;

/// The ratio of work done to work planned, by days ahead, as a distribution.
///
/// Nothing is assumed of its shape: work falls short because of lulls and goes over because of jobs
/// that come in, and neither is a mirror of the other. Ratios are counted in fixed intervals, each
/// with the mean of what fell into it, so that the record has the same size after ten years as after
/// ten days. Plans made on consecutive evenings for the next `T` days share most of those days, so
/// each counts as `1 / T` of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptPlan {
    horizons: Vec<Horizon>,
}

/// The ratios of plans that looked a certain number of days ahead.
#[derive(Debug, Clone, PartialEq)]
struct Horizon {
    days: u32,
    /// For each interval, how many plans and the sum of their ratios.
    plans: [(f64, f64); INTERVALS],
}

/// Upper ends of the intervals but the last, which has none.
const ENDS: [f64; INTERVALS - 1] = [
    0.2, 0.35, 0.5, 0.62, 0.72, 0.8, 0.86, 0.91, 0.95, 0.985, 1.015, 1.05, 1.09, 1.14, 1.2, 1.28,
    1.4, 1.6, 1.85, 2.2,
];
const INTERVALS: usize = 21;

/// Why a plan teaches nothing.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum PlanError {
    /// Horizons must rise from 1 day up.
    #[error("horizons must be whole days that rise from 1, not {0} here")]
    Horizon(u32),
    /// An exposure is negative or not a number.
    #[error("planned and done work must be numbers from 0 up, not {0}")]
    Exposure(f64),
}

impl KeptPlan {
    /// No work counts as more than so many times its plan: beyond, the plan was no plan.
    pub const RATIO_MAX: f64 = 4.0;

    /// An empty record for these horizons, in days.
    ///
    /// # Errors
    /// [`PlanError::Horizon`] for horizons that do not rise from 1.
    pub fn new(horizons: &[u32]) -> Result<Self, PlanError> {
        let mut last = 0;
        for days in horizons {
            if *days <= last {
                return Err(PlanError::Horizon(*days));
            }
            last = *days;
        }
        let horizon = |days: &u32| Horizon {
            days: *days,
            plans: [(0.0, 0.0); INTERVALS],
        };
        Ok(Self {
            horizons: horizons.iter().map(horizon).collect(),
        })
    }

    /// The horizons, in days.
    pub fn horizons(&self) -> impl Iterator<Item = u32> {
        self.horizons.iter().map(|horizon| horizon.days)
    }

    /// Takes in what a plan for the next `days` days foresaw and what was done in them, counting as
    /// `plans` plans. Plans of other horizons than those of the record, and plans of no work, teach
    /// nothing.
    ///
    /// # Errors
    /// [`PlanError::Exposure`] for work, or a number of plans, that is negative or not a number.
    pub fn observe(
        &mut self,
        days: u32,
        planned: f64,
        done: f64,
        plans: f64,
    ) -> Result<(), PlanError> {
        for number in [planned, done, plans] {
            if !(number >= 0.0 && number.is_finite()) {
                return Err(PlanError::Exposure(number));
            }
        }
        let horizon = self.horizons.iter_mut().find(|h| h.days == days);
        if let Some(horizon) = horizon
            && planned > 0.0
        {
            let ratio = (done / planned).min(Self::RATIO_MAX);
            let interval = ENDS.partition_point(|end| *end < ratio);
            horizon.plans[interval].0 += plans;
            horizon.plans[interval].1 += plans * ratio;
        }
        Ok(())
    }

    /// The ratios of work done to work planned that are to be expected over the next `days` days,
    /// with their chances, which add up to 1. Between two horizons both count, the nearer more;
    /// where nothing is known, work is as planned.
    pub fn ratios(&self, days: u32) -> Vec<(f64, f64)> {
        let known = || self.horizons.iter().filter(|h| h.total() > 0.0);
        let after = known().find(|h| h.days >= days);
        let before = known().rfind(|h| h.days <= days);
        match (before, after) {
            (Some(before), Some(after)) if before.days < after.days => {
                let part = f64::from(days - before.days) / f64::from(after.days - before.days);
                let mut both = before.ratios(1.0 - part);
                both.extend(after.ratios(part));
                both
            }
            (Some(only), _) | (None, Some(only)) => only.ratios(1.0),
            (None, None) => vec![(1.0, 1.0)],
        }
    }
}

impl Horizon {
    fn total(&self) -> f64 {
        self.plans.iter().map(|(plans, _)| plans).sum()
    }

    /// The ratios with chances that add up to `part`.
    fn ratios(&self, part: f64) -> Vec<(f64, f64)> {
        let total = self.total();
        self.plans
            .iter()
            .filter(|(plans, _)| *plans > 0.0)
            .map(|(plans, sum)| (sum / plans, part * plans / total))
            .collect()
    }
}
