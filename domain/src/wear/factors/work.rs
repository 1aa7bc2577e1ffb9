//! The wear rate of one part in work of certain levels: this group, that current band, that polarity. How
//! factors are learned is in `learning`.

use super::learning::{self, Observation};
use super::{FactorError, Factors};
use crate::predictive::{NegativeBinomial, PredictiveError};
use crate::special::real;
use crate::wear::Gamma;

/// What is known of the wear of one part by one driver, and what that means for work of certain levels.
///
/// Where each level of the work has a factor, the rate at the reference levels is known from all records that have
/// factors: `Gamma(a0 + n, b0 + E*)`, with the effective exposure `E* = sum(exposure x factors)`, and the work
/// counts as `f` times its exposure, f the product of its factors. Otherwise the work is kept apart: its rate is
/// known from the record of exactly its levels, and f is 1.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkRate {
    factors: Factors,
    /// The levels of the work.
    work: Vec<usize>,
    used: u64,
    over: f64,
    known: Gamma,
}

impl WorkRate {
    /// Learns it from the record of one part: what was used in each combination of levels, over the first
    /// exposure. `levels` says how many levels each axis has, `work` which of them the work is at. Records
    /// of other parts than 0 do not count.
    ///
    /// # Errors
    /// [`FactorError`]: a level that is not there, or an exposure or a rate out of range.
    pub fn learned(
        assumed: &Gamma,
        levels: &[usize],
        observed: &[Observation],
        work: &[usize],
    ) -> Result<Self, FactorError> {
        for (axis, count) in levels.iter().enumerate() {
            let level = work.get(axis).copied().unwrap_or(usize::MAX);
            if level >= *count {
                return Err(FactorError::Level { axis, level });
            }
        }
        for record in observed {
            learning::check(levels, 1, record)?;
        }
        let sum = |keep: &dyn Fn(&Observation) -> Option<f64>| {
            let kept = observed
                .iter()
                .filter_map(|record| Some((record, keep(record)?)));
            kept.fold((0_u64, 0.0), |(used, over), (record, factor)| {
                let more = factor * record.exposures[0];
                (used + record.events, over + more)
            })
        };
        // Which levels have factors is decided by what was used there alone, before any is learned.
        let started = learning::start(levels, observed);
        let (joined, _) = sum(&|record| started.product(&record.levels));
        let rate = |_: usize, exposures: [f64; 2]| {
            let mean = (assumed.shape() + real(joined)) / (assumed.rate() + exposures[0]);
            [mean, 0.0]
        };
        let factors = learning::learn(levels, 1, observed, &rate)?;
        let (used, over) = match factors.product(work) {
            Some(_) => sum(&|record| factors.product(&record.levels)),
            None => sum(&|record| (record.levels == work).then_some(1.0)),
        };
        Ok(Self {
            known: assumed.posterior(used, over)?,
            factors,
            work: work.to_vec(),
            used,
            over,
        })
    }

    /// The factors of all levels.
    pub fn factors(&self) -> &Factors {
        &self.factors
    }

    /// How many times as fast the part wears in the work as at the reference levels; none where the work is
    /// kept apart.
    pub fn factor(&self) -> Option<f64> {
        self.factors.product(&self.work)
    }

    /// Pieces used, on the record it stands on.
    pub fn used(&self) -> u64 {
        self.used
    }

    /// Effective exposure of that record, in terms of the reference levels; of work that is kept apart, its
    /// own.
    pub fn over(&self) -> f64 {
        self.over
    }

    /// The rate: at the reference levels, or of work that is kept apart.
    pub fn known(&self) -> &Gamma {
        &self.known
    }

    /// The rate in the work itself, as the gamma law with the mean and the variance of rate and factors
    /// together: `f a / b`, and the squared coefficients of variation of the rate and of each factor added up.
    ///
    /// # Errors
    /// [`FactorError::Rate`] where that is out of range.
    pub fn at_work(&self) -> Result<Gamma, FactorError> {
        let factor = self.factor().unwrap_or(1.0);
        let of_factors: f64 = match self.factor() {
            None => 0.0,
            Some(_) => self
                .work
                .iter()
                .enumerate()
                .filter_map(|(axis, level)| self.factors.of(axis, *level))
                .map(super::Factor::relative_variance)
                .sum(),
        };
        let shape = 1.0 / (1.0 / self.known.shape() + of_factors);
        let shape = shape.clamp(Gamma::SHAPE_MIN, Gamma::MAX);
        let rate = shape / (factor * self.known.mean());
        Ok(Gamma::new(shape, rate.clamp(Gamma::RATE_MIN, Gamma::MAX))?)
    }

    /// Use over so much of the work.
    ///
    /// # Errors
    /// [`PredictiveError`] for an exposure out of range.
    pub fn predictive(&self, exposure: f64) -> Result<NegativeBinomial, PredictiveError> {
        let law = self.at_work();
        let law = law.map_err(|error| match error {
            FactorError::Rate(error) => PredictiveError::Rate(error),
            FactorError::Level { .. } | FactorError::Part(_) | FactorError::Exposure(_) => {
                PredictiveError::Exposure(exposure)
            }
        })?;
        law.predictive(exposure)
    }
}
