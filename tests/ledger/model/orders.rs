//! Orders: what is on its way, until it came or was cancelled.

use super::Model;
use crate::told::{Place, Told};

/// An order of one part.
#[derive(Clone, Debug)]
pub(super) struct Order {
    pub(super) part: usize,
    pub(super) site: usize,
    pieces: i64,
    placed: bool,
    cancelled: bool,
}

impl Model {
    /// An order was drafted.
    pub(crate) fn draft(&mut self, part: usize, site: usize, pieces: i64) {
        self.orders.push(Order {
            part,
            site,
            pieces,
            placed: false,
            cancelled: false,
        });
    }

    /// The state of an order, in the words of the contract.
    pub(crate) fn state(&self, order: usize) -> &'static str {
        let (came, told) = (self.came(order), &self.orders[order]);
        match (told.cancelled, told.placed) {
            (true, _) => "cancelled",
            (false, false) => "draft",
            (false, true) if came >= told.pieces => "arrived",
            (false, true) if came > 0 => "part arrived",
            (false, true) => "placed",
        }
    }

    /// Whether an order can be placed, and then is. Placing it again is harmless.
    pub(crate) fn place(&mut self, order: usize) -> bool {
        let good = ["draft", "placed"].contains(&self.state(order));
        self.orders[order].placed |= good;
        good
    }

    /// Whether an order can be cancelled, and then is.
    pub(crate) fn cancel(&mut self, order: usize) -> bool {
        let good = self.state(order) != "arrived";
        self.orders[order].cancelled |= good;
        good
    }

    /// Receives so many pieces of an order, or all that are to come; the number of the entry if it
    /// was under way.
    pub(crate) fn arrive(&mut self, order: usize, pieces: Option<i64>, slot: i64) -> Option<usize> {
        if !["placed", "part arrived"].contains(&self.state(order)) {
            return None;
        }
        let pieces = pieces.unwrap_or_else(|| self.to_come(order));
        let place = Place {
            part: self.orders[order].part,
            site: self.orders[order].site,
            slot,
        };
        Some(self.enter(Told::Receive(place, pieces, None), Some(order)))
    }

    /// The part of an order.
    pub(crate) fn part_of(&self, order: usize) -> usize {
        self.orders[order].part
    }

    /// How many pieces came of an order.
    pub(crate) fn came(&self, order: usize) -> i64 {
        let receipts = self.standing().filter(|entry| entry.order == Some(order));
        receipts
            .map(|entry| match entry.told {
                Told::Receive(_, pieces, _) => pieces,
                Told::Use { .. }
                | Told::Move(..)
                | Told::Count(..)
                | Told::Transfer(..)
                | Told::Promise(..) => 0,
            })
            .sum()
    }

    pub(super) fn to_come(&self, order: usize) -> i64 {
        match self.state(order) {
            "placed" | "part arrived" => (self.orders[order].pieces - self.came(order)).max(0),
            _ => 0,
        }
    }
}
