//! How well a shop keeps to its plans: the spread of the work that was done about the work that was
//! planned, by how many days the plan looked ahead. Learned from the shop's own plans, not invented.

use thiserror::Error;

#[cfg(test)]
mod tests;

/// The squared relative miss of plans, by days ahead.
///
/// Plans made on consecutive evenings for the next `T` days share most of those days, so `n` of them
/// count as `n / T`. The variance at a horizon is the mean square of `done / planned - 1` there,
/// together with a starting variance that counts as [`KeptPlan::WEIGHT`] plans; between horizons it
/// is interpolated, beyond the last it stays.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptPlan {
    horizons: Vec<Horizon>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Horizon {
    days: u32,
    /// What the variance starts from.
    start: f64,
    plans: f64,
    squares: f64,
}

/// Why a plan teaches nothing.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum PlanError {
    /// Horizons must rise from 1 day up.
    #[error("horizons must be whole days that rise from 1, not {0} here")]
    Horizon(u32),
    /// An exposure is negative or not a number.
    #[error("planned and done work must be numbers from 0 up, not {0}")]
    Exposure(f64),
    /// A variance is negative or not a number.
    #[error("a starting variance must be a number from 0 up, not {0}")]
    Variance(f64),
}

impl KeptPlan {
    /// How many plans the starting variance counts for.
    pub const WEIGHT: f64 = 2.0;

    /// No miss is taken as larger than three times the plan: beyond, the plan was no plan.
    pub const MISS_MAX: f64 = 3.0;

    /// A record for these horizons, in days, each with the variance it starts from: the square of
    /// the coefficient of variation of work done about work planned.
    ///
    /// # Errors
    /// [`PlanError`] for horizons that do not rise from 1, or a variance that is none.
    pub fn new(horizons: &[(u32, f64)]) -> Result<Self, PlanError> {
        let mut last = 0;
        for (days, start) in horizons {
            if *days <= last {
                return Err(PlanError::Horizon(*days));
            }
            if !(*start >= 0.0 && start.is_finite()) {
                return Err(PlanError::Variance(*start));
            }
            last = *days;
        }
        let horizon = |(days, start): &(u32, f64)| Horizon {
            days: *days,
            start: *start,
            plans: 0.0,
            squares: 0.0,
        };
        Ok(Self {
            horizons: horizons.iter().map(horizon).collect(),
        })
    }

    /// The horizons, in days.
    pub fn horizons(&self) -> impl Iterator<Item = u32> {
        self.horizons.iter().map(|horizon| horizon.days)
    }

    /// Takes in what a plan for the next `days` days foresaw and what was done in them. Plans of
    /// other horizons than those of the record, and plans of no work, teach nothing.
    ///
    /// # Errors
    /// [`PlanError::Exposure`] for work that is negative or not a number.
    pub fn observe(&mut self, days: u32, planned: f64, done: f64) -> Result<(), PlanError> {
        for work in [planned, done] {
            if !(work >= 0.0 && work.is_finite()) {
                return Err(PlanError::Exposure(work));
            }
        }
        let horizon = self.horizons.iter_mut().find(|h| h.days == days);
        if let Some(horizon) = horizon
            && planned > 0.0
        {
            let miss = (done / planned - 1.0).min(Self::MISS_MAX);
            horizon.plans += 1.0 / f64::from(days);
            horizon.squares += miss * miss / f64::from(days);
        }
        Ok(())
    }

    /// The square of the coefficient of variation of work done about work planned, over the next
    /// `days` days; 0 without any horizon.
    pub fn relative_variance(&self, days: u32) -> f64 {
        let after = self.horizons.iter().find(|h| h.days >= days);
        let before = self.horizons.iter().rev().find(|h| h.days <= days);
        match (before, after) {
            (Some(before), Some(after)) if before.days < after.days => {
                let part = f64::from(days - before.days) / f64::from(after.days - before.days);
                before.variance() + part * (after.variance() - before.variance())
            }
            (Some(only), _) | (None, Some(only)) => only.variance(),
            (None, None) => 0.0,
        }
    }
}

impl Horizon {
    fn variance(&self) -> f64 {
        (KeptPlan::WEIGHT * self.start + self.squares) / (KeptPlan::WEIGHT + self.plans)
    }
}
