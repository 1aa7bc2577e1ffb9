//! A reading of stock: what is at its order point, and how much of it makes a warning go away.

use chrono::{DateTime, Utc};

use super::Reading;

/// The stock of a part, or of several taken together, beside its limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stock {
    /// The order point in pieces: low when the inventory position falls to it.
    pub point: i64,
    /// Pieces in drawers.
    pub on_hand: i64,
    /// Pieces on hand that are neither promised nor on hold.
    pub available: i64,
    /// Pieces on order.
    pub on_order: i64,
    /// When what is on order is late: its due date and one open day.
    pub late_from: Option<DateTime<Utc>>,
    /// The chance that a piece is wanted before the next delivery and none is left, from 0 to 1.
    pub chance: f64,
}

/// From how many pieces available a warning about an order point may close: the order point and a quarter
/// of it, rounded up, and at least two (product rule).
///
/// ```
/// use tigstock_domain::warning::clear_level;
/// assert_eq!(clear_level(4), 6);
/// assert_eq!(clear_level(9), 12);
/// assert_eq!(clear_level(0), 2);
/// ```
pub fn clear_level(point: i64) -> i64 {
    let quarter = (point.max(0) / 4).saturating_add(i64::from(point.max(0) % 4 > 0));
    point.saturating_add(quarter.max(2))
}

impl Stock {
    /// The inventory position: available and on order.
    pub fn position(&self) -> i64 {
        self.available.saturating_add(self.on_order)
    }

    /// What that means for a warning. What is on order lifts the position, but clears nothing until it
    /// is there.
    pub fn reading(&self) -> Reading {
        Reading {
            is_low: self.position() <= self.point,
            is_clear: self.available >= clear_level(self.point),
            chance: self.chance,
            on_hand: self.on_hand,
            on_order_until: self.late_from.filter(|_| self.on_order > 0),
        }
    }
}
