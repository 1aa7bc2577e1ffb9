//! Which drawers are worth counting: how likely it is that a count would change what is ordered. What a
//! count does to the book is in [`ledger`](crate::ledger).
//!
//! A book drifts from its drawer when a piece is taken and not logged (a loss) or put back, or received,
//! and not logged (a gain). Each recorded movement and each week that passes is one *occasion* for
//! either. Over `E` occasions since the newest count, losses `L` and gains `G` are negative binomial:
//! Poisson, with rates known as Gamma(a, b) and learned from the variances that past counts found,
//! a = a0 + pieces missing (or too many), b = b0 + occasions between those counts; one interval teaches
//! at most one piece an occasion.
//!
//! The drawer holds book - L + G. With the margin m = position - order point, a count changes the
//! decision to order with the chance
//!
//! - P(L - G >= m) if m > 0, where the book says that there is enough,
//! - P(G - L >= 1 - m) if m <= 0, where the book says to order,
//!
//! summed over the smaller of the two: P(X - Y >= d) = sum over y of P(Y = y) P(X >= d + y).

use std::cmp::Ordering;

use crate::predictive::{NegativeBinomial, PredictiveError};
use crate::special;
use crate::wear::{Gamma, GammaError};

#[cfg(test)]
mod simulation;
#[cfg(test)]
mod tests;

/// What is left of a sum when it is cut.
const CUT: f64 = 1e-9;
/// Where a sum is cut whatever is left of it: nobody mislays so many pieces between two counts.
const TERMS_MAX: u64 = 2_000;

/// Missing pieces for each occasion, until the shop's own counts tell; invented: one in 40.
const LOSSES_ASSUMED: Gamma = Gamma::written(0.5, 20.0);
/// Pieces too many for each occasion; invented: one in 100.
const GAINS_ASSUMED: Gamma = Gamma::written(0.25, 25.0);

/// What happened between two counts of a part, and by how much the second differed from the book.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Movements on record.
    pub movements: u64,
    /// Weeks that passed.
    pub weeks: f64,
    /// Counted less book.
    pub variance: i64,
}

/// How often a book goes wrong, in pieces for each occasion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ErrorRates {
    /// Pieces that go missing.
    pub losses: Gamma,
    /// Pieces that turn up.
    pub gains: Gamma,
}

impl Interval {
    /// The pieces that went missing and those that turned up, as far as missed entries explain them: at
    /// most one an occasion. More than that is an error of another kind, such as a parcel that was booked
    /// to the wrong part, and one such must not pass for a habit.
    pub fn pieces(&self) -> (u64, u64) {
        let most = occasions(self.movements, self.weeks).ceil();
        let pieces = self.variance.unsigned_abs();
        let pieces = if special::real(pieces) > most {
            special::count_at_or_below(most)
        } else {
            pieces
        };
        if self.variance < 0 {
            (pieces, 0)
        } else {
            (0, pieces)
        }
    }
}

/// How many occasions for an error there were: one a movement, one a week.
pub fn occasions(movements: u64, weeks: f64) -> f64 {
    special::real(movements) + weeks.max(0.0)
}

impl ErrorRates {
    /// The starting assumption; invented, and weak enough that a dozen counts outweigh it.
    pub const fn assumed() -> Self {
        Self {
            losses: LOSSES_ASSUMED,
            gains: GAINS_ASSUMED,
        }
    }

    /// What the variances of past counts make of it.
    ///
    /// # Errors
    /// [`GammaError`]: more pieces or weeks than a rate can be made of.
    pub fn learned(self, past: &[Interval]) -> Result<Self, GammaError> {
        let over: f64 = past
            .iter()
            .map(|it| occasions(it.movements, it.weeks))
            .sum();
        let mut pieces = (0_u64, 0_u64);
        for (missing, too_many) in past.iter().map(Interval::pieces) {
            pieces.0 = pieces.0.saturating_add(missing);
            pieces.1 = pieces.1.saturating_add(too_many);
        }
        Ok(Self {
            losses: self.losses.posterior(pieces.0, over)?,
            gains: self.gains.posterior(pieces.1, over)?,
        })
    }

    /// The chance that a count changes the decision to order, for a book with that margin (inventory
    /// position less order point) after so many occasions.
    ///
    /// # Errors
    /// [`PredictiveError::Exposure`] for occasions below 0 or beyond 1e9.
    ///
    /// ```
    /// use tigstock_domain::{counting::ErrorRates, wear::Gamma};
    /// // One loss and one gain expected, each geometric with p = 1/2.
    /// let rate = Gamma::new(1.0, 1.0)?;
    /// let rates = ErrorRates { losses: rate, gains: rate };
    /// assert!((rates.chance_of_change(1, 1.0)? - 1.0 / 3.0).abs() < 1e-8);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn chance_of_change(&self, margin: i64, occasions: f64) -> Result<f64, PredictiveError> {
        let losses = self.losses.predictive(occasions)?;
        let gains = self.gains.predictive(occasions)?;
        let far = margin.unsigned_abs();
        Ok(if margin > 0 {
            chance_beyond(&losses, &gains, far)
        } else {
            chance_beyond(&gains, &losses, far.saturating_add(1))
        })
    }
}

/// P(X - Y >= `by`), for `by` of at least 1.
fn chance_beyond(x: &NegativeBinomial, y: &NegativeBinomial, by: u64) -> f64 {
    let (mut chance, mut left) = (0.0, 1.0);
    for value in 0..TERMS_MAX {
        let weight = y.pmf(value);
        // P(X >= n) is P(X > n - 1).
        chance += weight * x.sf(by.saturating_add(value) - 1);
        left -= weight;
        if left < CUT {
            break;
        }
    }
    chance.clamp(0.0, 1.0)
}

/// What counting a part, or everything in a drawer, is worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worth {
    /// Parts whose book is below zero, which no drawer can be.
    pub below_zero: u32,
    /// Parts that were never counted, so that nothing is known of their books.
    pub never_counted: u32,
    /// The chance that a count changes at least one decision to order.
    pub chance: f64,
    /// Weeks since the count that is longest ago.
    pub weeks: f64,
}

impl Worth {
    /// What counting nothing is worth.
    pub const NOTHING: Self = Self {
        below_zero: 0,
        never_counted: 0,
        chance: 0.0,
        weeks: 0.0,
    };

    /// What counting both is worth. Books are taken to drift independently.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            below_zero: self.below_zero.saturating_add(other.below_zero),
            never_counted: self.never_counted.saturating_add(other.never_counted),
            chance: 1.0 - (1.0 - self.chance) * (1.0 - other.chance),
            weeks: self.weeks.max(other.weeks),
        }
    }

    /// Which is to be counted first, as [`Ordering::Less`]: a book below zero before all else, then
    /// what was never counted, then by the chance of a change, then what was counted longest ago.
    pub fn urgency(&self, other: &Self) -> Ordering {
        let known = |worth: &Self| (worth.below_zero, worth.never_counted);
        known(other)
            .cmp(&known(self))
            .then_with(|| other.chance.total_cmp(&self.chance))
            .then_with(|| other.weeks.total_cmp(&self.weeks))
    }
}
