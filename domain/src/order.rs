//! The cheapest whole packs over several suppliers: with price breaks, freight, minimum orders and
//! freight that is waived, for fixed numbers of pieces or for the chance of a whole job. When an
//! order arrives is in [`calendar`](crate::calendar); offers that come too late are left out by the
//! caller.

use std::fmt;

use thiserror::Error;

use crate::forecast::Target;
use crate::job::JobLine;
use crate::quantity::Currency;
use crate::shared_factor::SharedFactor;

mod choices;
mod curve;
mod exact;
mod fill;
mod goal;
mod large;
mod multipliers;
mod next;
mod relaxed;
mod shared;
mod states;
#[cfg(test)]
mod tests;

pub use goal::{Goal, GoalError};
pub use next::Next;

/// A supplier, as far as its price list and its conditions go. All sums are in minor units of its
/// currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Supplier {
    /// Charged once an order; 0 or more.
    pub freight_minor: i64,
    /// Goods of this value or more are sent without freight; none if never.
    pub free_over_minor: Option<i64>,
    /// The least value of the goods of an order, without freight; 0 if there is none.
    pub minimum_minor: i64,
    /// What its prices are in.
    pub currency: Currency,
}

/// Packs of one part at one supplier. A price break is an offer of its own, with a least number of
/// packs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Offer {
    /// Which of the parts.
    pub part: usize,
    /// Which of the suppliers.
    pub supplier: usize,
    /// Pieces in a pack, 1 or more.
    pub pack_size: i64,
    /// The price of a pack, 0 or more.
    pub price_minor: i64,
    /// If it is used at all, this many packs at least; 0 and 1 mean the same.
    pub packs_min: i64,
    /// No more packs than this; none if there is no limit.
    pub packs_max: Option<i64>,
}

impl Offer {
    /// How many packs can be bought of it.
    fn most_packs(&self) -> i64 {
        self.packs_max.unwrap_or(i64::MAX)
    }
}

/// Suppliers and offers in one currency, checked.
#[derive(Debug, Clone)]
pub struct Market {
    suppliers: Vec<Supplier>,
    offers: Vec<Offer>,
}

/// Why there is no market, or no order.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum OrderError {
    /// Two currencies in one order.
    #[error(
        "prices in {0} and in {1} cannot be weighed against each other: order from suppliers of one currency at a time"
    )]
    Currencies(Currency, Currency),
    /// A pack that holds nothing.
    #[error("a pack holds at least 1 piece, not {0}: correct the offer")]
    PackSize(i64),
    /// A sum below zero, or so large that sums of it would not be exact.
    #[error("a price, freight or minimum is from 0 to 1000000000000 minor units, not {0}")]
    Money(i64),
    /// A break that never applies.
    #[error("an offer of at least {min} packs and at most {max} is never met: correct the offer")]
    Packs {
        /// The least number of packs.
        min: i64,
        /// The greatest.
        max: i64,
    },
    /// An offer of a supplier that is not there.
    #[error("an offer names supplier {0}, and there are {1}")]
    NoSupplier(usize, usize),
    /// An offer of a part that is not there.
    #[error("an offer names part {0}, and there are {1}")]
    NoPart(usize, usize),
    /// More suppliers than can be weighed.
    #[error("at most {max} suppliers are weighed at a time, not {0}", max = Market::SUPPLIERS_MAX)]
    Suppliers(usize),
    /// A part whose packs have no common measure and of which very many pieces are needed.
    #[error(
        "part {0} is needed in too many pieces to weigh its packs: enter it in a coarser unit or in packs of one measure"
    )]
    TooFine(usize),
    /// No purchase reaches the goal.
    #[error("no purchase reaches the goal: add an offer, or take the part from elsewhere")]
    Unreachable,
}

/// So many packs of one offer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Purchase {
    /// Which of the offers of the market.
    pub offer: usize,
    /// How many packs, 1 or more.
    pub packs: i64,
}

/// A whole order over all suppliers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// What is bought, by offer.
    pub purchases: Vec<Purchase>,
    /// Goods and freight of all suppliers, in minor units.
    pub cost_minor: i64,
    /// No order that reaches the goal costs less than this; equal to the cost if the plan is proven
    /// to be the cheapest.
    pub at_least_minor: i64,
}

impl Plan {
    /// Whether no cheaper order reaches the goal.
    pub fn is_proven(&self) -> bool {
        self.at_least_minor >= self.cost_minor
    }

    /// How much cheaper an order might be at most, in minor units; 0 if it is proven.
    pub fn gap_minor(&self) -> i64 {
        (self.cost_minor - self.at_least_minor).max(0)
    }

    /// The pieces of one part that it brings.
    pub fn pieces(&self, market: &Market, part: usize) -> i64 {
        let of_part = self.purchases.iter().filter_map(|purchase| {
            let offer = market.offers.get(purchase.offer)?;
            (offer.part == part).then(|| purchase.packs.saturating_mul(offer.pack_size))
        });
        of_part.fold(0, i64::saturating_add)
    }
}

impl fmt::Display for Plan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} purchases, {}", self.purchases.len(), self.cost_minor)
    }
}

impl Market {
    /// The most suppliers of one market.
    pub const SUPPLIERS_MAX: usize = 16;
    /// The largest sum, in minor units, so that all totals are exact.
    pub const MINOR_MAX: i64 = 1_000_000_000_000;

    /// Suppliers and their offers.
    ///
    /// # Errors
    /// [`OrderError`]: mixed currencies, a pack of nothing, a sum below zero, a break that never
    /// applies, an offer of an unknown supplier, too many suppliers.
    pub fn new(suppliers: Vec<Supplier>, offers: Vec<Offer>) -> Result<Self, OrderError> {
        if suppliers.len() > Self::SUPPLIERS_MAX {
            return Err(OrderError::Suppliers(suppliers.len()));
        }
        for pair in suppliers.windows(2) {
            if pair[0].currency != pair[1].currency {
                return Err(OrderError::Currencies(pair[0].currency, pair[1].currency));
            }
        }
        let sums = suppliers.iter().flat_map(|supplier| {
            let free = supplier.free_over_minor.unwrap_or_default();
            [supplier.freight_minor, supplier.minimum_minor, free]
        });
        for sum in sums.chain(offers.iter().map(|offer| offer.price_minor)) {
            if !(0..=Self::MINOR_MAX).contains(&sum) {
                return Err(OrderError::Money(sum));
            }
        }
        for offer in &offers {
            if offer.pack_size < 1 {
                return Err(OrderError::PackSize(offer.pack_size));
            }
            if offer.supplier >= suppliers.len() {
                return Err(OrderError::NoSupplier(offer.supplier, suppliers.len()));
            }
            let (min, max) = (offer.packs_min, offer.most_packs());
            if min < 0 || max < min.max(1) {
                return Err(OrderError::Packs { min, max });
            }
        }
        Ok(Self { suppliers, offers })
    }

    /// The suppliers.
    pub fn suppliers(&self) -> &[Supplier] {
        &self.suppliers
    }

    /// The offers, by whose place a [`Purchase`] names them.
    pub fn offers(&self) -> &[Offer] {
        &self.offers
    }

    /// The goods bought at each supplier, in minor units.
    pub fn goods(&self, purchases: &[Purchase]) -> Vec<i64> {
        let mut goods = vec![0_i64; self.suppliers.len()];
        for purchase in purchases {
            if let Some(offer) = self.offers.get(purchase.offer) {
                let value = purchase.packs.saturating_mul(offer.price_minor);
                goods[offer.supplier] = goods[offer.supplier].saturating_add(value);
            }
        }
        goods
    }

    /// What the freight of each supplier comes to, in minor units; 0 where nothing is bought.
    pub fn freight(&self, purchases: &[Purchase]) -> Vec<i64> {
        let goods = self.goods(purchases);
        let used = self.used(purchases);
        let suppliers = self.suppliers.iter().zip(goods).zip(used);
        let freight = suppliers.map(|((supplier, goods), used)| {
            let free = supplier.free_over_minor.is_some_and(|over| goods >= over);
            if used && !free {
                supplier.freight_minor
            } else {
                0
            }
        });
        freight.collect()
    }

    /// Goods and freight together, or none if the minimum of a supplier or the limits of an offer
    /// are not kept.
    pub fn cost(&self, purchases: &[Purchase]) -> Option<i64> {
        let keeps = purchases.iter().all(|purchase| {
            let offer = &self.offers[purchase.offer];
            (offer.packs_min.max(1)..=offer.most_packs()).contains(&purchase.packs)
        });
        let goods = self.goods(purchases);
        let used = self.used(purchases);
        let minimum = (self.suppliers.iter().zip(&goods).zip(used))
            .all(|((supplier, goods), used)| !used || *goods >= supplier.minimum_minor);
        let freight: i64 = self.freight(purchases).iter().sum();
        (keeps && minimum).then(|| goods.iter().sum::<i64>().saturating_add(freight))
    }

    /// Whether all that a supplier offers is worth its minimum order.
    fn meets_minimum(&self, supplier: usize) -> bool {
        let own = self.offers.iter().filter(|it| it.supplier == supplier);
        let most = own.map(|it| it.price_minor.saturating_mul(it.most_packs()));
        most.fold(0, i64::saturating_add) >= self.suppliers[supplier].minimum_minor
    }

    fn used(&self, purchases: &[Purchase]) -> Vec<bool> {
        let mut used = vec![false; self.suppliers.len()];
        for purchase in purchases {
            used[self.offers[purchase.offer].supplier] |= purchase.packs > 0;
        }
        used
    }

    /// The cheapest whole packs that reach a goal.
    ///
    /// Exact: every set of suppliers, each paying freight or spending enough to save it, is bounded
    /// from below by Lagrangian relaxation (of the chance, of the minimum orders and of the values
    /// that save the freight; A. M. Geoffrion, *Mathematical Programming Study* 2, 1974) and, where
    /// that bound does not rule it out, searched by dynamic programming over the choices that the
    /// bound leaves (D. Pisinger, *European Journal of Operational Research* 83, 1995, for one
    /// constraint). Should a search grow beyond its limit, the plan says so: its `at_least_minor`
    /// is then below its cost.
    ///
    /// # Errors
    /// [`OrderError::Unreachable`] if no purchase reaches the goal, [`OrderError::NoPart`] for an
    /// offer of a part that the goal does not have, [`OrderError::TooFine`] for a part with very
    /// many pieces and packs of no common measure.
    pub fn cheapest(&self, goal: &Goal) -> Result<Plan, OrderError> {
        let parts = goal.tables(self)?;
        states::cheapest(self, &parts, goal.ln_target())
    }

    /// The cheapest whole packs with which a job runs without a stop with the target chance, where
    /// all its lines share a factor on their exposure.
    ///
    /// Without spread it is [`cheapest`](Self::cheapest) for [`Goal::chance`]. With it the chance is
    /// no product: from an order that reaches the target, cheaper ones are found along tangents of
    /// the logarithm of the chance, which lie below it, as it is convex in the logarithms of the
    /// products. That no order costs less than `at_least_minor` is shown by goals that are products
    /// and that any order of the target chance reaches; where there are few ways to buy, all of them
    /// are gone through and nothing is left open. For work of many thousand pieces every part is
    /// brought to one and the same chance, which may cost a little more, and
    /// `at_least_minor` says how much that can be.
    ///
    /// # Errors
    /// As [`cheapest`](Self::cheapest).
    pub fn cheapest_over(
        &self,
        lines: &[JobLine],
        shared: SharedFactor,
        target: Target,
    ) -> Result<Plan, OrderError> {
        if let Some(offer) = self.offers.iter().find(|it| it.part >= lines.len()) {
            return Err(OrderError::NoPart(offer.part, lines.len()));
        }
        if large::is_large(self, lines, shared) {
            return large::cheapest(self, lines, shared, target.get());
        }
        if shared.is_none() {
            return self.cheapest(&Goal::chance(lines.to_vec(), target));
        }
        shared::cheapest(self, lines, shared, target.get())
    }
}
