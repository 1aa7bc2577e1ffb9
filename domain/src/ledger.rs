//! Stock as a fold over recorded facts: what is on hand follows from counts and movements, in
//! whatever order they arrive. Where the facts are kept, and who wrote them, is elsewhere.

use chrono::{DateTime, Utc};
use thiserror::Error;

use crate::named::named;

mod book;
#[cfg(test)]
mod tests;

pub use book::{Book, LotBook};

/// The level of one part at one site, in the part's unit.
///
/// Textbook inventory control (for example Silver, Pyke and Thomas, *Inventory and Production
/// Management in Supply Chains*): available = on hand - allocated - on hold; inventory position =
/// available + on order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Level {
    /// In drawers by the book; below zero when a receipt or a count is missing.
    pub on_hand: i64,
    /// Promised to jobs.
    pub allocated: i64,
    /// In the drawer but not to be used.
    pub on_hold: i64,
    /// Ordered and not yet here.
    pub on_order: i64,
    /// The site does not permit the part, so that all of it counts as on hold while that rule
    /// stands.
    pub barred: bool,
}

impl Level {
    /// What is not to be used: all that is on hand where the site bars the part, else what was set
    /// aside.
    pub fn held(self) -> i64 {
        if self.barred {
            self.on_hand.max(0)
        } else {
            self.on_hold
        }
    }

    /// On hand less what is allocated and held. It can be negative; what can be taken from a
    /// drawer is [`usable`](Self::usable).
    pub fn available(self) -> i64 {
        self.on_hand
            .saturating_sub(self.allocated)
            .saturating_sub(self.held())
    }

    /// Available plus on order: what a reorder point is compared with. Where the part is barred,
    /// what is on order will be held when it comes, so it is not counted.
    pub fn position(self) -> i64 {
        if self.barred {
            return self.available();
        }
        self.available().saturating_add(self.on_order)
    }

    /// What can be moved to another site, or nothing: not what is promised or was set aside. A rule
    /// of this site keeps nothing here, since moving it away is one way to follow the rule.
    pub fn movable(self) -> i64 {
        self.on_hand
            .saturating_sub(self.allocated)
            .saturating_sub(self.on_hold)
            .max(0)
    }

    /// Available, or nothing where the book is below zero.
    pub fn usable(self) -> i64 {
        self.available().max(0)
    }
}

named! {
    /// The kind of a movement in the ledger.
    MovementKind, "kind of movement" {
        /// Goods came in.
        Receipt = "receipt",
        /// A piece was taken for use, broke or was lost in use.
        Issue = "issue",
        /// A piece was put back unused.
        Return = "return",
        /// A piece was thrown away unused.
        Scrap = "scrap",
        /// The book was put right; the quantity carries its own sign.
        Adjustment = "adjustment",
        /// Pieces were set aside: in the drawer, not to be used.
        Hold = "hold",
        /// Pieces set aside were freed.
        Release = "release",
        /// Pieces were moved to or from another site; the quantity carries its own sign.
        Transfer = "transfer",
        /// Pieces were sent back to the supplier.
        SupplierReturn = "supplier-return",
        /// Pieces are gone that nobody logged: found by a count, and used as far as anybody knows.
        UnloggedUse = "unlogged-use",
        /// Pieces were promised to a job, or, below zero, are promised no more.
        Allocation = "allocation",
    }
}

impl MovementKind {
    /// The sign with which its quantity enters what is on hand.
    pub fn on_hand_sign(self) -> i64 {
        match self {
            Self::Receipt | Self::Return | Self::Adjustment | Self::Transfer => 1,
            Self::Issue | Self::Scrap | Self::SupplierReturn | Self::UnloggedUse => -1,
            Self::Hold | Self::Release | Self::Allocation => 0,
        }
    }

    /// The sign with which its quantity enters what is on hold.
    pub fn on_hold_sign(self) -> i64 {
        match self {
            Self::Hold => 1,
            Self::Release => -1,
            Self::Receipt
            | Self::Issue
            | Self::Return
            | Self::Scrap
            | Self::Adjustment
            | Self::Transfer
            | Self::SupplierReturn
            | Self::UnloggedUse
            | Self::Allocation => 0,
        }
    }

    /// The sign with which its quantity enters what is allocated.
    pub fn allocated_sign(self) -> i64 {
        i64::from(self == Self::Allocation)
    }

    /// How many events of wear `quantity` pieces are: an issue is use, logged or not, and a return
    /// takes it back. Nothing else feeds the wear rate, since nothing was worn.
    pub fn wear_events(self, quantity: i64) -> i64 {
        match self {
            Self::Issue | Self::UnloggedUse => quantity,
            Self::Return => quantity.saturating_neg(),
            Self::Receipt
            | Self::Scrap
            | Self::Adjustment
            | Self::Hold
            | Self::Release
            | Self::Transfer
            | Self::SupplierReturn
            | Self::Allocation => 0,
        }
    }
}

/// One recorded fact about one part at one site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fact {
    /// Stock moved.
    Movement {
        /// When it happened, by true time.
        at: DateTime<Utc>,
        /// By how much what is on hand changed, signed.
        quantity: i64,
    },
    /// Somebody counted.
    Count(Count),
}

/// A statement of how many there were at an instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Count {
    /// The instant the count stands for.
    pub at: DateTime<Utc>,
    /// The number counted, not negative.
    pub counted: i64,
    /// The entry's id; of two counts at one instant the larger id wins.
    pub id: u128,
}

/// Why facts do not add up to a stock figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum LedgerError {
    /// The sum leaves the range of 64-bit integers.
    #[error("the quantities add up beyond what can be kept")]
    Overflow,
    /// A count below zero.
    #[error("a count cannot be negative, this one is {0}")]
    NegativeCount(i64),
}

/// What is on hand, with the count it stands on, kept up to date entry by entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct OnHand {
    /// In drawers by the book; below zero when something is missing from the book.
    pub on_hand: i64,
    /// The newest count, by instant and then id; `None` before the first.
    pub counted: Option<(DateTime<Utc>, u128)>,
}

impl OnHand {
    /// The state after one more movement. One dated at or before the newest count explains that
    /// count and changes nothing.
    ///
    /// # Errors
    /// [`LedgerError::Overflow`].
    pub fn apply_movement(self, at: DateTime<Utc>, quantity: i64) -> Result<Self, LedgerError> {
        if self.counted.is_some_and(|(counted_at, _)| at <= counted_at) {
            return Ok(self);
        }
        let on_hand = self
            .on_hand
            .checked_add(quantity)
            .ok_or(LedgerError::Overflow)?;
        Ok(Self { on_hand, ..self })
    }

    /// Whether `count` is newer than the one this state stands on, and so will change it.
    pub fn is_superseded_by(self, count: &Count) -> bool {
        self.counted
            .is_none_or(|newest| (count.at, count.id) > newest)
    }

    /// The state after one more count. `later` is the signed sum of the movements recorded so far
    /// that happened strictly after the count's instant. An older count than the newest is history
    /// and changes nothing.
    ///
    /// # Errors
    /// [`LedgerError`]: a negative count, or overflow.
    pub fn apply_count(self, count: &Count, later: i64) -> Result<Self, LedgerError> {
        if count.counted < 0 {
            return Err(LedgerError::NegativeCount(count.counted));
        }
        if !self.is_superseded_by(count) {
            return Ok(self);
        }
        let on_hand = count
            .counted
            .checked_add(later)
            .ok_or(LedgerError::Overflow)?;
        Ok(Self {
            on_hand,
            counted: Some((count.at, count.id)),
        })
    }
}

/// What is on hand after all the facts: the newest count plus the movements that happened strictly
/// after it; without a count, all movements on top of nothing. The order of the facts is of no
/// account.
///
/// # Errors
/// [`LedgerError`]: a negative count, or a sum beyond 64 bits.
pub fn on_hand<I>(facts: I) -> Result<OnHand, LedgerError>
where
    I: IntoIterator<Item = Fact>,
    I::IntoIter: Clone,
{
    let facts = facts.into_iter();
    let mut newest: Option<Count> = None;
    for fact in facts.clone() {
        let Fact::Count(count) = fact else { continue };
        if count.counted < 0 {
            return Err(LedgerError::NegativeCount(count.counted));
        }
        if newest.is_none_or(|best| (count.at, count.id) > (best.at, best.id)) {
            newest = Some(count);
        }
    }
    let mut sum = newest.map_or(0, |count| i128::from(count.counted));
    for fact in facts {
        let Fact::Movement { at, quantity } = fact else {
            continue;
        };
        if newest.is_none_or(|count| at > count.at) {
            sum += i128::from(quantity);
        }
    }
    let on_hand = i64::try_from(sum).map_err(|_| LedgerError::Overflow)?;
    Ok(OnHand {
        on_hand,
        counted: newest.map(|count| (count.at, count.id)),
    })
}
