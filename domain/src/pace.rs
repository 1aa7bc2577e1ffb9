//! A pace that may change from one day to the next, as the grinds to an arc hour of a group: noticed
//! within days, and not disturbed by chance while nothing changes. What is done with it is not here.

use thiserror::Error;

use crate::predictive::{NegativeBinomial, PredictiveError};
use crate::wear::{Gamma, GammaError};

#[cfg(test)]
mod tests;

/// A rate of events that holds for a while, then jumps to another at an unknown day.
///
/// Each day it changes with a small chance, and is then drawn anew from the prior. What is known is
/// a mixture over the day of the last change, each with the gamma rate of the days since: Bayesian
/// online change-point detection (*Bayesian Online Changepoint Detection*, arXiv 0710.3742, 2007).
///
/// ```
/// use tigstock_domain::pace::Pace;
/// use tigstock_domain::wear::Gamma;
/// let mut pace = Pace::new(Gamma::new(1.0, 1.0)?, Pace::CHANGE_CHANCE)?;
/// for _ in 0..60 {
///     pace.observe(4, 4.0)?; // 4 grinds in 4 arc hours
/// }
/// assert!((pace.mean() - 1.0).abs() < 0.05);
/// for _ in 0..8 {
///     pace.observe(8, 4.0)?;
/// }
/// assert!(pace.mean() > 1.7);
/// # Ok::<(), tigstock_domain::pace::PaceError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Pace {
    prior: Gamma,
    chance: f64,
    runs: Vec<Run>,
}

/// The days since one possible day of the last change.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Run {
    weight: f64,
    rate: Gamma,
}

/// Why there is no such pace.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum PaceError {
    /// The chance of a change is none.
    #[error("the chance that a pace changes on a day is above 0 and below 1, not {0}")]
    Chance(f64),
    /// The exposure of a day is out of range.
    #[error(transparent)]
    Exposure(#[from] PredictiveError),
    /// A rate is out of range.
    #[error(transparent)]
    Rate(#[from] GammaError),
}

/// Runs of less than this weight are forgotten.
const NEGLIGIBLE: f64 = 1e-7;

impl Pace {
    /// Where nothing else is set: one change in 250 worked days, about a year. Invented.
    pub const CHANGE_CHANCE: f64 = 1.0 / 250.0;

    /// A pace of which the prior is known, before any day.
    ///
    /// # Errors
    /// [`PaceError::Chance`] for a chance of change that is not between 0 and 1.
    pub fn new(prior: Gamma, chance: f64) -> Result<Self, PaceError> {
        if !(chance > 0.0 && chance < 1.0) {
            return Err(PaceError::Chance(chance));
        }
        let runs = vec![Run {
            weight: 1.0,
            rate: prior,
        }];
        Ok(Self {
            prior,
            chance,
            runs,
        })
    }

    /// Takes in a day with so many events over so much exposure. A day without exposure changes
    /// nothing.
    ///
    /// # Errors
    /// [`PaceError`] for an exposure outside 0 to 1e9.
    pub fn observe(&mut self, events: u64, exposure: f64) -> Result<(), PaceError> {
        NegativeBinomial::over(&self.prior, exposure)?;
        if exposure <= 0.0 {
            return Ok(());
        }
        for run in &mut self.runs {
            run.weight *= 1.0 - self.chance;
        }
        self.runs.push(Run {
            weight: self.chance,
            rate: self.prior,
        });
        for run in &mut self.runs {
            run.weight *= run.rate.predictive(exposure)?.pmf(events);
            run.rate = run.rate.posterior(events, exposure)?;
        }
        self.settle(events, exposure)
    }

    /// Makes the weights add up to one and forgets what is negligible; where no run could explain
    /// the day at all, starts anew.
    fn settle(&mut self, events: u64, exposure: f64) -> Result<(), PaceError> {
        let total: f64 = self.runs.iter().map(|run| run.weight).sum();
        if total < f64::MIN_POSITIVE {
            let rate = self.prior.posterior(events, exposure)?;
            self.runs = vec![Run { weight: 1.0, rate }];
            return Ok(());
        }
        self.runs.retain(|run| run.weight > NEGLIGIBLE * total);
        let total: f64 = self.runs.iter().map(|run| run.weight).sum();
        for run in &mut self.runs {
            run.weight /= total;
        }
        Ok(())
    }

    /// The expected pace, in events per unit of exposure.
    pub fn mean(&self) -> f64 {
        self.expect(Gamma::mean)
    }

    /// The variance of the pace as it is known now.
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        let square = |rate: &Gamma| rate.mean() * rate.mean() * (1.0 + 1.0 / rate.shape());
        (self.expect(square) - mean * mean).max(0.0)
    }

    /// What is known: gamma rates with their weights, which add up to 1.
    pub fn rates(&self) -> impl Iterator<Item = (f64, Gamma)> {
        self.runs.iter().map(|run| (run.weight, run.rate))
    }

    /// Over how much exposure the pace has held, as expected; tells how far back the record counts.
    pub fn held(&self) -> f64 {
        self.expect(Gamma::rate) - self.prior.rate()
    }

    fn expect(&self, value: impl Fn(&Gamma) -> f64) -> f64 {
        self.runs
            .iter()
            .map(|run| run.weight * value(&run.rate))
            .sum()
    }
}
