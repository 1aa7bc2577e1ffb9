//! Learning the factors of levels and the rates of parts together, each given the other until they
//! agree. What a factor is, and what it is used for, is in the parent.

use super::{Factor, FactorError, Factors};
use crate::special::real;

/// What was used of one part in one combination of levels, and over what.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Which part, from 0.
    pub part: usize,
    /// One level for each axis, from 0.
    pub levels: Vec<usize>,
    /// Exposures to the first and the second driver, in their units.
    pub exposures: [f64; 2],
    /// Pieces used.
    pub events: u64,
}

/// No more rounds than these; they end when no factor moves by a part in 1e9.
const ROUNDS_MAX: u32 = 500;

/// The factors of all levels, from the use of all parts together.
///
/// Use is Poisson with mean f (a x first + b x second), a and b the rates of the part and f the
/// product of one factor for each axis. With the rates known, the use in a level against what would
/// be expected there at a factor of 1 gives its factor; with a gamma prior of mean 1 worth two
/// pieces it is (2 + pieces used) / (2 + expected). With the factors known, the rates follow from
/// effective exposure. The two are repeated in turn: the method of marginal totals (R. A. Bailey,
/// *Proceedings of the Casualty Actuarial Society* 50, 1963), whose fixed point is the most likely
/// multiplicative Poisson model.
///
/// `rates` gives the expected rates of a part by the first and the second driver, if its use came
/// about over given effective exposures.
///
/// In each axis the level with most use is the reference. Levels with fewer than five pieces are
/// kept apart, and what was observed in them teaches no other level and no part.
///
/// # Errors
/// [`FactorError`]: an observation of a level or a part that is not there, or an exposure that is
/// none.
pub fn learn(
    levels: &[usize],
    parts: usize,
    observed: &[Observation],
    rates: &impl Fn(usize, [f64; 2]) -> [f64; 2],
) -> Result<Factors, FactorError> {
    for observation in observed {
        check(levels, parts, observation)?;
    }
    let mut factors = start(levels, observed);
    for _ in 0..ROUNDS_MAX {
        let expected = expectations(&factors, parts, observed, rates);
        let moved = (0..levels.len())
            .map(|axis| move_axis(&mut factors, axis, observed, &expected))
            .fold(0.0, f64::max);
        if moved < 1e-9 {
            break;
        }
    }
    Ok(factors)
}

pub(super) fn check(
    levels: &[usize],
    parts: usize,
    observed: &Observation,
) -> Result<(), FactorError> {
    for (axis, count) in levels.iter().enumerate() {
        let level = observed.levels.get(axis).copied().unwrap_or(usize::MAX);
        if level >= *count {
            return Err(FactorError::Level { axis, level });
        }
    }
    if observed.part >= parts {
        return Err(FactorError::Part(observed.part));
    }
    let wrong = observed
        .exposures
        .iter()
        .find(|e| !(0.0..=1e9).contains(*e));
    wrong.map_or(Ok(()), |wrong| Err(FactorError::Exposure(*wrong)))
}

/// Every factor at 1, or apart.
pub(super) fn start(levels: &[usize], observed: &[Observation]) -> Factors {
    let mut factors = Factors::unknown(levels);
    for (axis, of_axis) in factors.axes.iter_mut().enumerate() {
        let mut used = vec![0_u64; of_axis.len()];
        for observation in observed {
            used[observation.levels[axis]] += observation.events;
        }
        // The first of equals, so that the order of asking does not matter.
        let most = used.iter().copied().max().unwrap_or(0);
        let reference = used.iter().position(|events| *events == most);
        for (level, (factor, events)) in of_axis.iter_mut().zip(used).enumerate() {
            *factor = if events < Factor::EVENTS_MIN {
                Factor::Apart { events }
            } else if Some(level) == reference {
                Factor::Reference
            } else {
                let factor = 1.0;
                Factor::Learned { factor, events }
            };
        }
    }
    factors
}

/// What each observation would use if all its factors were 1, at the rates that follow from the
/// factors as they are.
fn expectations(
    factors: &Factors,
    parts: usize,
    observed: &[Observation],
    rates: &impl Fn(usize, [f64; 2]) -> [f64; 2],
) -> Vec<f64> {
    let mut effective = vec![[0.0; 2]; parts];
    for observation in observed {
        if let Some(factor) = factors.product(&observation.levels) {
            for (sum, exposure) in effective[observation.part]
                .iter_mut()
                .zip(observation.exposures)
            {
                *sum += factor * exposure;
            }
        }
    }
    let rates: Vec<[f64; 2]> = effective
        .iter()
        .enumerate()
        .map(|(part, exposures)| rates(part, *exposures))
        .collect();
    observed
        .iter()
        .map(|observation| {
            let [first, second] = rates[observation.part];
            first * observation.exposures[0] + second * observation.exposures[1]
        })
        .collect()
}

/// Sets the factors of one axis, given those of the others; says by how much one moved at most.
fn move_axis(
    factors: &mut Factors,
    axis: usize,
    observed: &[Observation],
    expected: &[f64],
) -> f64 {
    let count = factors.axes[axis].len();
    let (mut used, mut awaited) = (vec![0_u64; count], vec![0.0; count]);
    for (observation, expected) in observed.iter().zip(expected) {
        let level = observation.levels[axis];
        let Some((product, own)) = factors
            .product(&observation.levels)
            .zip(factors.axes[axis][level].get())
        else {
            continue;
        };
        used[level] += observation.events;
        awaited[level] += expected * product / own;
    }
    let mut most = 0.0_f64;
    for (level, of_level) in factors.axes[axis].iter_mut().enumerate() {
        if let Factor::Learned { factor, .. } = of_level {
            let over = Factor::WEIGHT_OF_ONE + awaited[level];
            let next = (Factor::WEIGHT_OF_ONE + real(used[level])) / over;
            most = most.max((next / *factor - 1.0).abs());
            *factor = next;
        }
    }
    most
}
