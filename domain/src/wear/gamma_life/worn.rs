//! Several torches with parts that are part-worn, by integration over the rate that they share. A single torch that
//! starts with a fresh part has a closed form, in the parent.

use super::{GammaLife, LifeError, Lives};
use crate::predictive::{CountTable, PredictiveError};
use crate::shared_factor::SharedFactor;
use crate::special::{gamma, quadrature, real};
use crate::wear::Gamma;

/// A chance below this ends a row of counts.
const NEGLIGIBLE: f64 = 1e-12;

/// One place where a part wears: a torch and the part that is in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// What the part in it has been exposed to since it was new.
    pub age: f64,
    /// What the position will be exposed to.
    pub exposure: f64,
}

impl Position {
    fn check(&self) -> Result<(), LifeError> {
        if !(0.0..=Lives::LIFE_MAX).contains(&self.age) {
            Err(LifeError::Age(self.age))
        } else if (0.0..=Lives::LIFE_MAX).contains(&self.exposure) {
            Ok(())
        } else {
            Err(PredictiveError::Exposure(self.exposure).into())
        }
    }
}

pub(super) fn over(life: &GammaLife, positions: &[Position]) -> Result<CountTable, LifeError> {
    for position in positions {
        position.check()?;
    }
    if (life.shape - 1.0).abs() < f64::EPSILON {
        return at_random(&life.known, positions);
    }
    let rates = weighed(life.shape, &life.known, positions);
    let points = quadrature::legendre();
    let mut sum: Vec<f64> = Vec::new();
    for (rate, weight) in rates {
        let mut together = CountTable::nothing();
        for position in positions.iter().filter(|position| position.exposure > 0.0) {
            let one = counts(life.shape, rate, position, &points)?;
            together = together.plus(&one)?;
        }
        let chances = together.probabilities();
        sum.resize(sum.len().max(chances.len()), 0.0);
        for (total, chance) in sum.iter_mut().zip(chances) {
            *total += weight * chance;
        }
    }
    // What the integrals lack is put on all alike, so that the chances add up to 1.
    let total: f64 = sum.iter().sum();
    Ok(CountTable::from_pmf(
        sum.into_iter().map(|chance| chance / total).collect(),
    ))
}

/// Without memory: what the parts in use have been through is exposure without an end.
fn at_random(known: &Gamma, positions: &[Position]) -> Result<CountTable, LifeError> {
    let ages = positions.iter().map(|position| position.age).sum();
    let to_come = positions.iter().map(|position| position.exposure).sum();
    let uses = known.posterior(0, ages)?.predictive(to_come)?;
    Ok(CountTable::of(&uses)?)
}

/// The rates that the lives may have and their chances, given that the parts in use have lasted.
pub(super) fn weighed(shape: f64, known: &Gamma, positions: &[Position]) -> Vec<(f64, f64)> {
    // Gamma(a, b) is its mean times a factor Gamma(a, a), whose spread is 1 / sqrt(a).
    let spread = (1.0 / known.shape().sqrt()).min(1.0);
    let factor = SharedFactor::new(spread).unwrap_or_default();
    let nodes = factor.nodes().into_iter().map(|node| {
        let rate = node.factor * known.mean();
        let lasted: f64 = positions
            .iter()
            .map(|position| gamma::upper(shape, rate * position.age))
            .product();
        (rate, node.weight * lasted)
    });
    let nodes: Vec<(f64, f64)> = nodes.collect();
    let most = nodes.iter().map(|(_, weight)| *weight).fold(0.0, f64::max);
    let kept = nodes
        .into_iter()
        .filter(|(_, weight)| *weight > most * NEGLIGIBLE);
    let kept: Vec<(f64, f64)> = kept.collect();
    let total: f64 = kept.iter().map(|(_, weight)| weight).sum();
    kept.into_iter()
        .map(|(rate, weight)| (rate, weight / total))
        .collect()
}

/// How many parts one position uses at a rate that is known.
///
/// The part in it ends after a residual life x with the density of the life at age + x over the chance of having
/// lasted; j - 1 further lives end within what is left with the chance P((j - 1) k, rate (T - x)). A fresh part
/// needs no integral.
fn counts(
    shape: f64,
    rate: f64,
    position: &Position,
    points: &[(f64, f64)],
) -> Result<CountTable, LifeError> {
    let (age, over) = (rate * position.age, rate * position.exposure);
    let reached: Box<dyn Fn(f64) -> f64> = if age > 0.0 {
        let residual = residual(shape, age, over, points);
        let first: f64 = gamma_between(shape, age, over);
        Box::new(move |j: f64| {
            if j < 2.0 {
                return first;
            }
            let further = residual
                .iter()
                .map(|(x, weight)| weight * gamma::lower((j - 1.0) * shape, over - x));
            further.sum()
        })
    } else {
        Box::new(move |j: f64| gamma::lower(j * shape, over))
    };
    let (mut chances, mut here) = (Vec::new(), 1.0);
    let mut j = 1_u64;
    while here > NEGLIGIBLE {
        // Rounding must not make more lives likelier than fewer.
        let next = reached(real(j)).clamp(0.0, here);
        chances.push(here - next);
        (here, j) = (next, j + 1);
        if chances.len() >= CountTable::LENGTH_MAX {
            return Err(crate::predictive::TableError::TooLong(j).into());
        }
    }
    Ok(CountTable::from_pmf(chances))
}

/// The chance that a part of an age ends within what is to come, all at rate 1.
fn gamma_between(shape: f64, age: f64, over: f64) -> f64 {
    let lasted = gamma::upper(shape, age);
    if lasted > 0.0 {
        (1.0 - gamma::upper(shape, age + over) / lasted).clamp(0.0, 1.0)
    } else {
        // A rate at which the part cannot have lasted; its weight is nothing.
        1.0
    }
}

/// Points in the residual life of a part, and the chance that it ends about each, all at rate 1.
fn residual(shape: f64, age: f64, over: f64, points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let lasted = gamma::upper(shape, age);
    if lasted <= 0.0 {
        return vec![(0.0, 1.0)];
    }
    // Beyond this the residual life does not come: its tail falls at least as fast as that of a fresh life.
    let far = shape + 9.0 * shape.sqrt() + 30.0;
    let end = over.min(far);
    let ln_front = -libm::lgamma(shape) - lasted.ln();
    let point = |(u, weight): &(f64, f64)| {
        // x = end u^2, so that a density with a root at age 0 is smooth.
        let (x, width) = (end * u * u, 2.0 * end * u * weight);
        let life = age + x;
        let density = (ln_front + (shape - 1.0) * life.ln() - life).exp();
        (x, width * density)
    };
    points.iter().map(point).collect()
}
