//! The domain's book of a part at a site, as a row keeps it and as a site permits it.

use domain::ledger::{Book, Level, OnHand};
use types::StockAfter;
use uuid::Uuid;

use super::books::Key;
use crate::service::{instant, site_rules};
use crate::store::entity::{levels, parts, sites};

/// The book that a row keeps.
pub fn read(row: &levels::Model) -> Book {
    let counted = row.counted_at.map(|at| {
        (
            instant::from_micros(at),
            row.count_id.unwrap_or_default().as_u128(),
        )
    });
    Book {
        on_hand: OnHand {
            on_hand: row.on_hand,
            counted,
        },
        on_hold: row.on_hold,
        allocated: row.allocated,
        on_order: row.on_order,
    }
}

/// The row that keeps a book.
pub fn row(book: &Book, (part_id, site_id): Key) -> levels::Model {
    levels::Model {
        part_id,
        site_id,
        on_hand: book.on_hand.on_hand,
        on_hold: book.on_hold,
        on_order: book.on_order,
        counted_at: book.on_hand.counted.map(|(at, _)| at.timestamp_micros()),
        count_id: book.on_hand.counted.map(|(_, id)| Uuid::from_u128(id)),
        allocated: book.allocated,
    }
}

/// The level that a book means. The rule of the site is applied here and nowhere else, so that it
/// holds from the moment it stands, in every figure.
pub fn level(book: &Book, part: &parts::Model, site: &sites::Model) -> Level {
    book.level(!site_rules::of_part(site, part).is_permitted())
}

/// What is left of a part, by its book.
pub(super) fn after(book: &Book, part: &parts::Model, site: &sites::Model) -> StockAfter {
    let level = level(book, part, site);
    StockAfter {
        part: part.code.clone(),
        site: None,
        on_hand: level.on_hand,
        available: level.available(),
    }
}
