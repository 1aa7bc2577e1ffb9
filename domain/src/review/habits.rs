//! How well the shop keeps to its plans: which plans are still open, and what the days before the
//! first plan say of it. The record itself is in [`kept_plan`](crate::kept_plan).

use std::collections::VecDeque;

use crate::kept_plan::{KeptPlan, PlanError};
use crate::special::real;

/// Days ahead for which the spread is learned.
const HORIZONS: [u32; 9] = [1, 2, 4, 7, 12, 19, 30, 45, 60];

/// Fewer days than these say nothing of how work varies.
const HISTORY_MIN: usize = 56;

/// How many plans the days before the first plan count for.
const PAST: f64 = 1.0;

/// Without such days, work is off its plan by a fifth either way: invented.
const START: [f64; 2] = [0.8, 1.2];

/// The work of the days so far, and the plans that are not over.
#[derive(Debug, Clone, Default)]
pub(super) struct Habits {
    done: Vec<f64>,
    kept: Option<KeptPlan>,
    /// Sums of planned work over each horizon, by the number of days closed when it was planned.
    open: VecDeque<(usize, Vec<f64>)>,
}

impl Habits {
    pub(super) fn kept(&self) -> Option<&KeptPlan> {
        self.kept.as_ref()
    }

    /// Takes in the work of a day, and with it every plan whose last day it was.
    pub(super) fn close_day(&mut self, work: f64) -> Result<(), PlanError> {
        self.done.push(work);
        let now = self.done.len();
        if let Some(kept) = &mut self.kept {
            for (made, sums) in &self.open {
                for (days, planned) in HORIZONS.iter().zip(sums) {
                    if made + *days as usize == now {
                        let done = self.done[*made..].iter().sum();
                        kept.observe(*days, *planned, done, 1.0 / f64::from(*days))?;
                    }
                }
            }
        }
        let longest = HORIZONS[HORIZONS.len() - 1] as usize;
        self.open.retain(|(made, _)| made + longest > now);
        Ok(())
    }

    /// Keeps a plan of the work of the next days.
    pub(super) fn keep_plan(&mut self, plan: &[f64]) -> Result<(), PlanError> {
        if self.kept.is_none() {
            self.kept = Some(self.start()?);
        }
        let sum = |days: &u32| {
            let days = *days as usize;
            // A plan that ends earlier says nothing of the longer horizon.
            plan.get(..days).map_or(0.0, |plan| plan.iter().sum())
        };
        self.open
            .push_back((self.done.len(), HORIZONS.iter().map(sum).collect()));
        Ok(())
    }

    /// What the days before the first plan say: how far the work of some days in a row was off what
    /// their weekdays would make it.
    fn start(&self) -> Result<KeptPlan, PlanError> {
        let mut kept = KeptPlan::new(&HORIZONS)?;
        let usual = weekday_means(&self.done);
        for days in HORIZONS {
            let length = days as usize;
            if self.done.len() < HISTORY_MIN.max(2 * length) {
                for ratio in START {
                    kept.observe(days, 1.0, ratio, 0.5 * PAST)?;
                }
                continue;
            }
            let each = PAST / real((self.done.len() - length + 1) as u64);
            for (first, stretch) in self.done.windows(length).enumerate() {
                let planned: f64 = (first..first + length).map(|day| usual[day % 7]).sum();
                kept.observe(days, planned, stretch.iter().sum(), each)?;
            }
        }
        Ok(kept)
    }
}

/// The mean work of each of seven days that follow each other.
fn weekday_means(done: &[f64]) -> [f64; 7] {
    let (mut sums, mut counts) = ([0.0; 7], [0_u64; 7]);
    for (day, work) in done.iter().enumerate() {
        sums[day % 7] += work;
        counts[day % 7] += 1;
    }
    let mut means = [0.0; 7];
    for ((mean, sum), count) in means.iter_mut().zip(sums).zip(counts) {
        *mean = sum / real(count.max(1));
    }
    means
}
