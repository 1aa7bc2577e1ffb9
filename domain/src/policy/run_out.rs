//! When stock runs out over a schedule of exposure, day by day.

use crate::predictive::PredictiveError;
use crate::wear::Gamma;

/// When stock runs out over a schedule.
#[derive(Debug, Clone, PartialEq)]
pub struct RunOutSchedule {
    /// The chance that it has run out by the end of each day, from the first on.
    pub by_day: Vec<f64>,
}

impl RunOutSchedule {
    /// The first day, from 1, by whose end it has run out with chance `p`; none within the schedule.
    pub fn day(&self, p: f64) -> Option<usize> {
        self.by_day
            .iter()
            .position(|chance| *chance >= p)
            .map(|day| day + 1)
    }
}

/// The chance that `stock` pieces have run out by the end of each day: P(use over the exposure up to then
/// >= stock). Exposure of each day in the unit of the wear rate.
///
/// # Errors
/// [`PredictiveError`] for exposure that is negative, or beyond 1e9 in all.
pub fn run_out(
    wear: &Gamma,
    stock: u64,
    exposure: &[f64],
) -> Result<RunOutSchedule, PredictiveError> {
    let mut so_far = 0.0;
    let mut by_day = Vec::with_capacity(exposure.len());
    for day in exposure {
        if day.is_nan() || *day < 0.0 {
            return Err(PredictiveError::Exposure(*day));
        }
        so_far += day;
        let uses = wear.predictive(so_far)?;
        by_day.push(stock.checked_sub(1).map_or(1.0, |last| uses.sf(last)));
    }
    Ok(RunOutSchedule { by_day })
}
