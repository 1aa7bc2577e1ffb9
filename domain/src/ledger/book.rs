//! The book of one part at one site, and of one lot there, brought up to date entry by entry. The
//! result never depends on the order in which entries arrive.

use chrono::{DateTime, Utc};

use super::{Count, LedgerError, Level, MovementKind, OnHand};

#[cfg(test)]
mod tests;

/// What is kept of a part at a site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Book {
    /// On hand, with the count it stands on.
    pub on_hand: OnHand,
    /// Set aside.
    pub on_hold: i64,
    /// Promised to jobs.
    pub allocated: i64,
    /// Ordered and not here yet.
    pub on_order: i64,
}

impl Book {
    /// Enters a movement of `quantity` pieces, as told, that happened at `at`.
    ///
    /// # Errors
    /// [`LedgerError::Overflow`]; the book is as it was.
    pub fn enter(
        &mut self,
        kind: MovementKind,
        at: DateTime<Utc>,
        quantity: i64,
    ) -> Result<(), LedgerError> {
        let signed = |sign: i64| sign.checked_mul(quantity).ok_or(LedgerError::Overflow);
        *self = Self {
            on_hand: self
                .on_hand
                .apply_movement(at, signed(kind.on_hand_sign())?)?,
            on_hold: add(self.on_hold, signed(kind.on_hold_sign())?)?,
            allocated: add(self.allocated, signed(kind.allocated_sign())?)?,
            on_order: self.on_order,
        };
        Ok(())
    }

    /// Whether a movement that happened at `at` only explains the newest count: it was counted with.
    pub fn is_explained(&self, at: DateTime<Utc>) -> bool {
        self.on_hand
            .counted
            .is_some_and(|(counted, _)| at <= counted)
    }

    /// Enters a count; `later` is the signed sum of the movements on record that happened strictly
    /// after it.
    ///
    /// # Errors
    /// [`LedgerError`]: a negative count, or overflow; the book is as it was.
    pub fn count(&mut self, count: &Count, later: i64) -> Result<(), LedgerError> {
        self.on_hand = self.on_hand.apply_count(count, later)?;
        Ok(())
    }

    /// Changes what is on order.
    ///
    /// # Errors
    /// [`LedgerError::Overflow`]; the book is as it was.
    pub fn order(&mut self, change: i64) -> Result<(), LedgerError> {
        self.on_order = add(self.on_order, change)?;
        Ok(())
    }

    /// The level, where the site does or does not permit the part.
    pub fn level(&self, barred: bool) -> Level {
        Level {
            on_hand: self.on_hand.on_hand,
            allocated: self.allocated,
            on_hold: self.on_hold,
            on_order: self.on_order,
            barred,
        }
    }
}

/// What is kept of a lot of a part at a site. Counts are of parts, not of lots, so a lot is what came
/// in less what was told to have gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LotBook {
    /// Received and not gone.
    pub left: i64,
    /// Of those, on hold.
    pub on_hold: i64,
}

impl LotBook {
    /// Left and not on hold.
    pub fn free(self) -> i64 {
        self.left.saturating_sub(self.on_hold)
    }

    /// Enters a movement; gives how many pieces on hold it frees, since what is gone is not held.
    /// A movement that frees some belongs with a release of as many.
    ///
    /// # Errors
    /// [`LedgerError::Overflow`]; the book is as it was.
    pub fn enter(&mut self, kind: MovementKind, quantity: i64) -> Result<i64, LedgerError> {
        let signed = |sign: i64| sign.checked_mul(quantity).ok_or(LedgerError::Overflow);
        let change = signed(kind.on_hand_sign())?;
        let left = add(self.left, change)?;
        let on_hold = add(self.on_hold, signed(kind.on_hold_sign())?)?;
        let freed = if change < 0 && quantity != 0 && kind != MovementKind::Receipt {
            (on_hold - left.max(0)).max(0)
        } else {
            0
        };
        *self = Self {
            left,
            on_hold: on_hold - freed,
        };
        Ok(freed)
    }
}

fn add(sum: i64, change: i64) -> Result<i64, LedgerError> {
    sum.checked_add(change).ok_or(LedgerError::Overflow)
}
