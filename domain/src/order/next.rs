//! The next best single purchase beside an order: the packs of one offer that buy the most chance for
//! the money. Which order is the cheapest is in the parent.

use super::relaxed::money;
use super::{Market, Offer, Purchase};
use crate::job::{JobLine, joint_chance};
use crate::shared_factor::SharedFactor;

/// One purchase beside an order, and what it gains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Next {
    /// What is bought more: so many packs of one offer, by its place in the market. Where a price
    /// break is reached, the offer is the one of the break.
    pub purchase: Purchase,
    /// How much more the whole order costs with it, goods and freight, in minor units; below 0 where
    /// it reaches a break or saves freight that costs more than it.
    pub cost_minor: i64,
    /// The chance of the whole job with it, from 0 to 1.
    pub chance: f64,
}

/// The least gain in chance that counts as one. Below it a gain cannot be told from the rounding of
/// the sums.
const LEAST_GAIN: f64 = 1e-9;

/// A purchase that is looked at: the order with it, how many packs it adds, and of which offer.
struct Tried {
    order: Vec<Purchase>,
    offer: usize,
    more: i64,
}

impl Market {
    /// The single purchase that raises the chance of the job most for each unit of money it costs
    /// beside an order; of equals the one of the greater chance, then the cheaper, then the first
    /// offer. None where no purchase raises the chance by 10⁻⁹, or where the order cannot be placed
    /// as it is.
    ///
    /// A purchase is one pack of an offer, or as many as its least number and the minimum order of
    /// its supplier ask for. The lines are what there is *with* the order. Gain in availability for
    /// the money spent is the rule by which marginal analysis buys spares (C. C. Sherbrooke,
    /// *Optimal Inventory Modeling of Systems*, 1992, from memory); here it names the next step
    /// only, since the order itself is not bought step by step.
    pub fn next_best(
        &self,
        lines: &[JobLine],
        shared: SharedFactor,
        order: &[Purchase],
    ) -> Option<Next> {
        let (now, paid) = (joint_chance(lines, shared), self.cost(order)?);
        let mut best: Option<Next> = None;
        for tried in (0..self.offers.len()).filter_map(|offer| self.tried(order, offer)) {
            let part = self.offers[tried.offer].part;
            let pieces = tried
                .more
                .saturating_mul(self.offers[tried.offer].pack_size);
            let mut with = lines.to_vec();
            with.get_mut(part)?.available = lines[part].available.saturating_add(pieces);
            let Some(cost) = self.cost(&tried.order) else {
                continue;
            };
            let next = Next {
                purchase: Purchase {
                    offer: tried.offer,
                    packs: tried.more,
                },
                cost_minor: cost - paid,
                chance: joint_chance(&with, shared),
            };
            if next.chance - now > LEAST_GAIN && best.is_none_or(|best| next.beats(&best, now)) {
                best = Some(next);
            }
        }
        best
    }

    /// An order with one pack more of an offer, or as many as it takes.
    fn tried(&self, order: &[Purchase], offer: usize) -> Option<Tried> {
        let own = &self.offers[offer];
        let is_alike = |it: &&Purchase| own.is_same_pack(&self.offers[it.offer]);
        let before: i64 = order.iter().filter(is_alike).map(|it| it.packs).sum();
        let rest = order.iter().filter(|it| !is_alike(it)).copied();
        let rest: Vec<Purchase> = rest.collect();
        let goods = self.goods(&rest)[own.supplier];
        let wanting = self.suppliers[own.supplier].minimum_minor - goods;
        let least = if wanting <= 0 {
            0
        } else {
            // A pack that costs nothing fills no minimum.
            (own.price_minor > 0).then(|| (wanting - 1) / own.price_minor + 1)?
        };
        let packs = (before + 1).max(own.packs_min).max(least);
        let fits = own.packs_max.is_none_or(|max| packs <= max);
        let mut order = rest;
        order.push(Purchase { offer, packs });
        fits.then_some(Tried {
            order,
            offer,
            more: packs - before,
        })
    }
}

impl Offer {
    /// Whether it is the same pack at another price.
    fn is_same_pack(&self, other: &Self) -> bool {
        (self.part, self.supplier, self.pack_size) == (other.part, other.supplier, other.pack_size)
    }
}

impl Next {
    /// Whether it buys more chance for the money than another, both from a chance now. What costs
    /// nothing is before what costs something.
    fn beats(&self, other: &Self, now: f64) -> bool {
        let (own, others) = (self.chance - now, other.chance - now);
        let by_money = match (self.cost_minor > 0, other.cost_minor > 0) {
            (true, true) => {
                (own * money(other.cost_minor)).total_cmp(&(others * money(self.cost_minor)))
            }
            (true, false) => return false,
            (false, true) => return true,
            (false, false) => own.total_cmp(&others),
        };
        let by_gain = by_money.then(own.total_cmp(&others));
        by_gain.then(other.cost_minor.cmp(&self.cost_minor)).is_gt()
    }
}
