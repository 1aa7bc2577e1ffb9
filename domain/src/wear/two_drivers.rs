//! Wear by two drivers at once: the record of it, compressed to what the likelihood needs. The best
//! pair of rates is found in `fit`, what is known of them in `posterior`.

use std::collections::BTreeMap;

use thiserror::Error;

use super::GammaError;
use crate::predictive::{MixtureError, PredictiveError};
use crate::special;

mod fit;
mod posterior;
#[cfg(test)]
mod tests;

pub use fit::Fit;
pub use posterior::{Posterior, SplitRecord};

/// Pieces used over some work, with the exposure of that work to two drivers, as arc hours and
/// grinds of one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Exposure to the first driver, in its unit.
    pub first: f64,
    /// Exposure to the second driver, in its unit.
    pub second: f64,
    /// Pieces used.
    pub events: u64,
}

/// A record of pieces used that are Poisson with mean a x first + b x second in each cell.
///
/// The likelihood depends on the cells only through the two sums of exposure and, for cells with
/// pieces used, their exposures and number; so that is what is kept, with equal cells as one. It
/// grows with the number of different days on which something was used, not with the days.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cells {
    first: f64,
    second: f64,
    events: u64,
    /// Sum of ln y! over the cells as they were given.
    ln_factorials: f64,
    /// Pieces used by the two exposures, whose bits order as the numbers do.
    used: BTreeMap<(u64, u64), u64>,
}

/// Why two drivers make no rates.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum TwoDriverError {
    /// An exposure is negative, beyond 1e9, or not a number.
    #[error("an exposure must be from 0 to 1000000000, not {0}")]
    Exposure(f64),
    /// Something was used where there was no work.
    #[error(
        "{events} used without any exposure; enter the work of that day, or give the use to the \
         day on which it happened"
    )]
    Contradiction {
        /// Pieces used.
        events: u64,
    },
    /// A prior whose mode is not that of a concave function.
    #[error(
        "a prior of shape {0} has no single most likely pair of rates; give shapes from 1 up, or \
         ask for what is known of the rates instead"
    )]
    Mode(f64),
    /// A prior that the quadrature over the split cannot carry.
    #[error("a prior of two drivers must have a shape from 0.5 up, not {0}")]
    Shape(f64),
    /// The units of the drivers are no positive ratio.
    #[error(
        "the usual ratio of the second driver to the first must be above 0 and the same for all records that are put together, not {0}"
    )]
    Ratio(f64),
    /// A rate is out of range.
    #[error(transparent)]
    Rate(#[from] GammaError),
    /// The work to come, or the rates over it, are out of range.
    #[error(transparent)]
    Predictive(#[from] PredictiveError),
    /// The parts of a mixture are out of range.
    #[error(transparent)]
    Mixture(#[from] MixtureError),
}

/// Whether a cell can be: exposures in range, and no pieces used where there is none.
fn check(cell: &Cell) -> Result<(), TwoDriverError> {
    in_range([cell.first, cell.second])?;
    let events = cell.events;
    if events > 0 && cell.first <= 0.0 && cell.second <= 0.0 {
        return Err(TwoDriverError::Contradiction { events });
    }
    Ok(())
}

/// Whether both exposures are exposures.
fn in_range(exposures: [f64; 2]) -> Result<(), TwoDriverError> {
    let wrong = exposures.into_iter().find(|e| !(0.0..=1e9).contains(e));
    wrong.map_or(Ok(()), |wrong| Err(TwoDriverError::Exposure(wrong)))
}

impl Cells {
    /// The record of these cells.
    ///
    /// # Errors
    /// As [`add`](Self::add), at the first cell that cannot be.
    pub fn new(cells: impl IntoIterator<Item = Cell>) -> Result<Self, TwoDriverError> {
        let mut record = Self::default();
        for cell in cells {
            record.add(cell)?;
        }
        Ok(record)
    }

    /// Adds a cell. One with neither exposure nor use changes nothing.
    ///
    /// # Errors
    /// [`TwoDriverError`]: an exposure that is none, or pieces used without any exposure.
    pub fn add(&mut self, cell: Cell) -> Result<(), TwoDriverError> {
        check(&cell)?;
        self.first += cell.first;
        self.second += cell.second;
        if cell.events > 0 {
            self.events += cell.events;
            self.ln_factorials += libm::lgamma(special::real(cell.events) + 1.0);
            // The bits of -0.0 would order last.
            let key = |exposure: f64| (exposure + 0.0).to_bits();
            *self
                .used
                .entry((key(cell.first), key(cell.second)))
                .or_default() += cell.events;
        }
        Ok(())
    }

    /// The sums of exposure to the first and the second driver.
    pub fn exposures(&self) -> [f64; 2] {
        [self.first, self.second]
    }

    /// Pieces used in all.
    pub fn events(&self) -> u64 {
        self.events
    }

    /// How many different cells with use are kept.
    pub fn len(&self) -> usize {
        self.used.len()
    }

    /// Whether nothing was used.
    pub fn is_empty(&self) -> bool {
        self.used.is_empty()
    }

    /// The cells with use.
    fn used(&self) -> impl Iterator<Item = Cell> {
        self.used.iter().map(|((first, second), events)| Cell {
            first: f64::from_bits(*first),
            second: f64::from_bits(*second),
            events: *events,
        })
    }

    /// The logarithm of the likelihood at rates a and b, without the terms ln y!; negative infinity
    /// where the record is impossible.
    fn ln_likelihood(&self, rates: [f64; 2]) -> f64 {
        let of_use: f64 = self
            .used()
            .map(|cell| {
                special::real(cell.events) * (rates[0] * cell.first + rates[1] * cell.second).ln()
            })
            .sum();
        of_use - rates[0] * self.first - rates[1] * self.second
    }
}
