//! The evening review of a whole shop: from days of work and use, and a plan of hours by group, to
//! the use to come of every part. The pieces it is put together from have modules of their own:
//! [`two_drivers`](crate::wear::two_drivers), [`factors`],
//! [`pace`](crate::pace), [`kept_plan`](crate::kept_plan), [`predictive`](crate::predictive).

use thiserror::Error;

use crate::kept_plan::{KeptPlan, PlanError};
use crate::pace::{Pace, PaceError};
use crate::predictive::{MixtureError, PredictiveError};
use crate::wear::factors::{self, FactorError, Factors, Observation};
use crate::wear::two_drivers::TwoDriverError;
use crate::wear::{Gamma, GammaError};

mod ahead;
mod days;
mod habits;
mod part;
#[cfg(test)]
mod tests;

pub use ahead::{Ahead, Rates};
pub use days::{Day, fill_grinds, share_out, weekday_means};
pub use part::Drivers;

use habits::Habits;
use part::Part;

/// What one group did in one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Work {
    /// Which group, from 0.
    pub group: usize,
    /// Exposure to the first driver, as arc hours.
    pub first: f64,
    /// Exposure to the second driver, as grinds.
    pub second: u64,
}

/// What one group used of one part in one day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Use {
    /// Which group, from 0.
    pub group: usize,
    /// Which part, from 0.
    pub part: usize,
    /// Pieces.
    pub pieces: u64,
}

/// Why a review cannot be made.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ReviewError {
    /// A day or a plan names a group that is not there.
    #[error("there is no group {0} in this shop")]
    Group(usize),
    /// A day names a part that is not there.
    #[error("there is no part {0} in this shop")]
    Part(usize),
    /// There is no plan that far ahead.
    #[error("the plan reaches {planned} days ahead, not {asked}; plan further, or ask for less")]
    Horizon {
        /// Days ahead that were asked for.
        asked: usize,
        /// Days ahead that are planned.
        planned: usize,
    },
    /// What was worked or used cannot be.
    #[error(transparent)]
    Record(#[from] TwoDriverError),
    /// A factor cannot be learned.
    #[error(transparent)]
    Factor(#[from] FactorError),
    /// A pace cannot be learned.
    #[error(transparent)]
    Pace(#[from] PaceError),
    /// A plan teaches nothing.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// A rate is out of range.
    #[error(transparent)]
    Rate(#[from] GammaError),
    /// Use to come is out of range.
    #[error(transparent)]
    Predictive(#[from] PredictiveError),
    /// A lead time has no days that are possible.
    #[error(transparent)]
    Mixture(#[from] MixtureError),
}

/// A shop as it is known from its days: how its parts wear by two drivers, how its groups differ,
/// how much of the second driver goes with the first, and how well it keeps to its plans.
#[derive(Debug, Clone)]
pub struct Shop {
    parts: Vec<Part>,
    /// Units of the second driver for each of the first, by group.
    paces: Vec<Pace>,
    /// Whether a part wears by the second driver: only then does it matter how fast that goes.
    needs_paces: bool,
    /// Exposures so far, by group.
    exposures: Vec<[f64; 2]>,
    habits: Habits,
}

impl Shop {
    /// A shop of parts with these drivers and of so many groups, before its first day.
    ///
    /// # Errors
    /// [`ReviewError`] for priors that are out of range.
    pub fn new(drivers: &[Drivers], groups: usize) -> Result<Self, ReviewError> {
        // About one of the second for each of the first, worth next to nothing: invented.
        let pace = Pace::new(Gamma::new(1.0, 1.0)?, Pace::CHANGE_CHANCE)?;
        let parts: Result<Vec<Part>, TwoDriverError> = drivers
            .iter()
            .map(|drivers| Part::new(*drivers, groups))
            .collect();
        Ok(Self {
            parts: parts?,
            paces: vec![pace; groups],
            needs_paces: drivers.iter().any(Drivers::have_second),
            exposures: vec![[0.0; 2]; groups],
            habits: Habits::default(),
        })
    }

    /// Takes in the next day; one without work counts too.
    ///
    /// # Errors
    /// [`ReviewError`]: a group or a part that is not there, an exposure that is none, or use by a
    /// group that did no work that day.
    pub fn close_day(&mut self, work: &[Work], uses: &[Use]) -> Result<(), ReviewError> {
        let mut today = vec![[0.0; 2]; self.exposures.len()];
        for done in work {
            let of_group = today
                .get_mut(done.group)
                .ok_or(ReviewError::Group(done.group))?;
            of_group[0] += done.first;
            of_group[1] += crate::special::real(done.second);
            if self.needs_paces {
                self.paces[done.group].observe(done.second, done.first)?;
            }
        }
        for used in uses {
            let exposures = *today
                .get(used.group)
                .ok_or(ReviewError::Group(used.group))?;
            let part = self
                .parts
                .get_mut(used.part)
                .ok_or(ReviewError::Part(used.part))?;
            part.take_in(used.group, exposures, used.pieces)?;
        }
        for (sum, today) in self.exposures.iter_mut().zip(&today) {
            sum[0] += today[0];
            sum[1] += today[1];
        }
        let done = today.iter().map(|exposures| exposures[0]).sum();
        Ok(self.habits.close_day(done)?)
    }

    /// What this evening's plan means: hours of each group for each of the next days. The plan is
    /// kept, so that the days to come show how well it was kept.
    ///
    /// # Errors
    /// [`ReviewError`]: a day of the plan that does not name every group, or work that is none.
    pub fn review(&mut self, plan: &[Vec<f64>]) -> Result<Ahead, ReviewError> {
        self.check(plan)?;
        let totals: Vec<f64> = plan.iter().map(|day| day.iter().sum()).collect();
        self.habits.keep_plan(&totals)?;
        let factors = self.factors()?;
        Ahead::new(self, &factors, plan)
    }

    /// What a plan means that is taken as it stands: a pace that somebody states, rather than one that is
    /// read off the days so far. It is not kept, since it says nothing of how plans are kept.
    ///
    /// # Errors
    /// As [`review`](Self::review).
    pub fn as_stated(&self, plan: &[Vec<f64>]) -> Result<Ahead, ReviewError> {
        self.check(plan)?;
        let factors = self.factors()?;
        Ok(Ahead::new(self, &factors, plan)?.without_spread())
    }

    fn check(&self, plan: &[Vec<f64>]) -> Result<(), ReviewError> {
        for day in plan {
            if day.len() != self.paces.len() {
                return Err(ReviewError::Group(day.len()));
            }
            if let Some(wrong) = day.iter().find(|hours| !(0.0..=1e9).contains(*hours)) {
                return Err(PlanError::Exposure(*wrong).into());
            }
        }
        Ok(())
    }

    /// The factors of the groups, from the use of all parts so far.
    ///
    /// # Errors
    /// [`ReviewError::Factor`] for exposures beyond 1e9.
    pub fn factors(&self) -> Result<Factors, ReviewError> {
        let mut observed = Vec::new();
        for (index, part) in self.parts.iter().enumerate() {
            for (group, (exposures, events)) in self.exposures.iter().zip(part.used()).enumerate() {
                observed.push(Observation {
                    part: index,
                    levels: vec![group],
                    exposures: *exposures,
                    events: *events,
                });
            }
        }
        let learned: Vec<usize> = (0..self.exposures.len())
            .filter(|group| self.used_by(*group) >= factors::Factor::EVENTS_MIN)
            .collect();
        let rates = |part: usize, exposures: [f64; 2]| {
            let known = self.parts[part].known(&learned, exposures);
            known.map_or([0.0; 2], |known| known.means())
        };
        Ok(factors::learn(
            &[self.exposures.len()],
            self.parts.len(),
            &observed,
            &rates,
        )?)
    }

    fn used_by(&self, group: usize) -> u64 {
        self.parts.iter().map(|part| part.used()[group]).sum()
    }

    /// The record of how well plans were kept; none before the first plan.
    pub fn kept_plan(&self) -> Option<&KeptPlan> {
        self.habits.kept()
    }
}
