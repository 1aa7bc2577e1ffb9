//! How much faster parts wear under a level of something: an operator group, a current band, a
//! polarity. Factors are learned from the use of all parts together; the rates of the parts are in
//! the parent and in [`two_drivers`](super::two_drivers).

use thiserror::Error;

use crate::special::real;

mod learning;
#[cfg(test)]
mod tests;
mod work;

pub use learning::{Observation, learn};
pub use work::WorkRate;

/// What is known of one level: how many times as fast parts wear there as at the reference level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Factor {
    /// The level with most use, which the others are compared with: its factor is 1.
    Reference,
    /// Too little use so far: its record is kept apart, neither scaled nor added to the others'.
    Apart {
        /// Pieces used there, all parts together.
        events: u64,
    },
    /// Learned from at least [`Factor::EVENTS_MIN`] pieces.
    Learned {
        /// The factor, above 0.
        factor: f64,
        /// Pieces used there, all parts together.
        events: u64,
    },
}

impl Factor {
    /// From so many pieces on, all parts together, a factor is learned.
    pub const EVENTS_MIN: u64 = 5;

    /// How many pieces the starting point of 1 is worth, against those that were used: few, since
    /// a beginner may well wear parts several times as fast. Invented.
    pub const WEIGHT_OF_ONE: f64 = 2.0;

    /// The factor; none while the level is kept apart.
    pub fn get(self) -> Option<f64> {
        match self {
            Self::Reference => Some(1.0),
            Self::Apart { .. } => None,
            Self::Learned { factor, .. } => Some(factor),
        }
    }

    /// The square of its coefficient of variation: 1 / (2 + pieces used) for a gamma distribution
    /// of that shape; 0 for the reference, whose uncertainty is in the rates of the parts.
    pub fn relative_variance(self) -> f64 {
        match self {
            Self::Reference => 0.0,
            Self::Apart { events } | Self::Learned { events, .. } => {
                1.0 / (Self::WEIGHT_OF_ONE + real(events))
            }
        }
    }
}

/// The factors of every level of every axis, as operator group, current band, polarity.
#[derive(Debug, Clone, PartialEq)]
pub struct Factors {
    axes: Vec<Vec<Factor>>,
}

/// Why no factors can be learned.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum FactorError {
    /// A record names a level that no axis has.
    #[error("level {level} of axis {axis} is not there; name one level for each axis")]
    Level {
        /// Which axis, from 0.
        axis: usize,
        /// Which level, from 0.
        level: usize,
    },
    /// A record is of a part without rates.
    #[error("part {0} has no rates; give the rates of every part that is observed")]
    Part(
        /// Which part, from 0.
        usize,
    ),
    /// An exposure is negative, beyond 1e9, or not a number.
    #[error("an exposure must be from 0 to 1000000000, not {0}")]
    Exposure(f64),
    /// A rate is out of range.
    #[error(transparent)]
    Rate(#[from] super::GammaError),
}

impl Factors {
    /// Factors of which nothing is known: every level is kept apart, none is the reference.
    pub fn unknown(levels: &[usize]) -> Self {
        let apart = |levels: &usize| vec![Factor::Apart { events: 0 }; *levels];
        Self {
            axes: levels.iter().map(apart).collect(),
        }
    }

    /// The factor of one level of one axis.
    pub fn of(&self, axis: usize, level: usize) -> Option<Factor> {
        self.axes.get(axis)?.get(level).copied()
    }

    /// The levels of one axis; none if there is no such axis.
    pub fn levels(&self, axis: usize) -> &[Factor] {
        self.axes.get(axis).map_or(&[], Vec::as_slice)
    }

    /// The product of the factors of these levels, one for each axis; none if one of them is kept
    /// apart or is not there.
    pub fn product(&self, levels: &[usize]) -> Option<f64> {
        self.axes
            .iter()
            .zip(levels)
            .map(|(axis, level)| axis.get(*level)?.get())
            .product()
    }

    /// Effective exposure, the sum of exposure x factors, over work in several levels; and the
    /// exposure that is kept apart from it, because a level has no factor yet.
    ///
    /// E* = sum(hours x f of the current band x f of the polarity x f of the group).
    pub fn effective<'a>(&self, work: impl IntoIterator<Item = (&'a [usize], f64)>) -> Effective {
        let mut sum = Effective::default();
        for (levels, exposure) in work {
            match self.product(levels) {
                Some(factor) => sum.exposure += factor * exposure,
                None => sum.apart += exposure,
            }
        }
        sum
    }
}

/// Exposure put together over levels, in the unit of what was added up.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Effective {
    /// In terms of the reference levels.
    pub exposure: f64,
    /// In levels whose factor is not known, as it is.
    pub apart: f64,
}
