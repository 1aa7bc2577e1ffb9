//! Which packs are bought of whom: the cheapest order over all suppliers that deliver in time with
//! which the whole work reaches its target; and what every part alone at the target would cost.

use std::collections::BTreeMap;

use domain::job::{JobLine, joint_chance};
use domain::order::{self, Goal, Next, Offer, OrderError, Plan, Purchase, Supplier};
use domain::quantity::Currency;
use types::NextPurchase;
use uuid::Uuid;

use super::{Bought, Market, Selling};
use crate::service::Error;
use crate::service::needs::Weighed;
use crate::service::needs::work::Work;

/// How often prices of several breaks for one pack are told apart.
const ROUNDS: u32 = 4;

/// What is bought, and what it is held against.
#[derive(Clone, Debug, Default)]
pub(in crate::service::needs) struct Proposal {
    /// How much cheaper an order for the whole work might be at most, in minor units.
    pub(in crate::service::needs) gap_minor: i64,
    /// Every part alone at the target: what that costs, in which currency, and the chance of the whole.
    pub(in crate::service::needs) each: Option<Each>,
    /// Currencies whose offers are left out, since prices in two cannot be weighed.
    pub(in crate::service::needs) other_currencies: Vec<String>,
    /// Whether no order that comes in time reaches the target of the whole work.
    pub(in crate::service::needs) out_of_reach: bool,
    /// The single purchase that buys the most chance for the money beside the order.
    pub(in crate::service::needs) next: Option<NextPurchase>,
}

/// Every part alone at the target.
#[derive(Clone, Debug)]
pub(in crate::service::needs) struct Each {
    pub(in crate::service::needs) cost_minor: i64,
    pub(in crate::service::needs) currency: String,
    pub(in crate::service::needs) chance: f64,
}

/// The suppliers and offers in one currency that come in time, as the domain has them.
struct Stall<'a> {
    currency: String,
    suppliers: Vec<(i64, Supplier)>,
    /// Each with the offer that it stands for.
    offers: Vec<(Offer, &'a Selling)>,
}

impl Market {
    /// Decides what is bought, and puts it with the parts.
    pub(in crate::service::needs) fn propose(
        &self,
        weighed: &mut [Weighed],
        work: &Work,
    ) -> Result<Proposal, Error> {
        let mut proposal = Proposal::default();
        let stall = self.stall(weighed)?;
        let mut order = Vec::new();
        if let Some(stall) = &stall {
            proposal.other_currencies = self.others(weighed, &stall.currency);
            let lines: Vec<JobLine> = weighed.iter().map(|it| it.line(it.after())).collect();
            let shorts: Vec<i64> = weighed.iter().map(|it| stall.short(it)).collect();
            let goal = Goal::pieces(shorts).map_err(|error| Error::Internal(error.to_string()))?;
            let by_part = stall.solve(|market| market.cheapest(&goal))?;
            proposal.each = by_part.as_ref().map(|(plan, bought)| {
                let mut lines = lines.clone();
                for (part, packs, selling) in bought {
                    lines[*part].available += packs * selling.row.pack_size;
                }
                Each {
                    cost_minor: plan.cost_minor,
                    currency: stall.currency.clone(),
                    chance: joint_chance(&lines, work.shared),
                }
            });
            let whole =
                stall.solve(|market| market.cheapest_over(&lines, work.shared, work.target))?;
            proposal.out_of_reach = whole.is_none();
            if let Some((plan, bought)) = whole.or(by_part) {
                proposal.gap_minor = plan.gap_minor();
                for (part, packs, selling) in bought {
                    order.extend(stall.purchase(selling, packs));
                    weighed[part].bought.extend(self.bought(selling, packs));
                }
            }
        }
        self.rest(weighed);
        if let Some(stall) = &stall {
            let lines: Vec<JobLine> = weighed.iter().map(|it| it.line(it.after())).collect();
            let next = stall.market().ok();
            let next = next.and_then(|market| market.next_best(&lines, work.shared, &order));
            proposal.next = next.and_then(|next| self.told(stall, weighed, next));
        }
        Ok(proposal)
    }

    /// The offers of permitted parts that come in time, in the currency of the oldest of them.
    fn stall(&self, weighed: &[Weighed]) -> Result<Option<Stall<'_>>, Error> {
        let mut stall: Option<Stall<'_>> = None;
        for (part, line) in weighed.iter().enumerate() {
            if line.held_because.is_some() {
                continue;
            }
            for (selling, seller) in self.of_part(line.part.id).filter(|(it, _)| it.in_time) {
                let stall = stall.get_or_insert_with(|| Stall {
                    currency: seller.row.currency.clone(),
                    suppliers: Vec::new(),
                    offers: Vec::new(),
                });
                if seller.row.currency == stall.currency {
                    stall.add(part, selling, seller)?;
                }
            }
        }
        Ok(stall)
    }

    /// Other currencies in which something is offered in time.
    fn others(&self, weighed: &[Weighed], currency: &str) -> Vec<String> {
        let mut others: Vec<String> = Vec::new();
        for line in weighed.iter().filter(|it| it.held_because.is_none()) {
            let offers = self.of_part(line.part.id).filter(|(it, _)| it.in_time);
            others.extend(offers.map(|(_, seller)| seller.row.currency.clone()));
        }
        others.retain(|other| other != currency);
        others.sort();
        others.dedup();
        others
    }

    /// The next purchase as the contract has it.
    fn told(&self, stall: &Stall<'_>, weighed: &[Weighed], next: Next) -> Option<NextPurchase> {
        let (offer, selling) = stall.offers.get(next.purchase.offer)?;
        let packs = next.purchase.packs;
        Some(NextPurchase {
            part: weighed.get(offer.part)?.part.code.clone(),
            supplier: self
                .suppliers
                .get(&selling.row.supplier_id)?
                .row
                .code
                .clone(),
            packs,
            pack_size: offer.pack_size,
            pieces: packs.checked_mul(offer.pack_size)?,
            cost_minor: next.cost_minor,
            currency: stall.currency.clone(),
            arrives: selling.arrives,
            chance: next.chance,
        })
    }

    /// What is still short: bought by itself in another currency, or for later.
    fn rest(&self, weighed: &mut [Weighed]) {
        for line in weighed.iter_mut().filter(|it| it.held_because.is_none()) {
            let short = (line.need - line.after()).max(0);
            // What is covered by others and could still be bought in time need not be bought for later.
            let is_covered = line.line(line.after()).available >= line.need;
            let could_come = self.of_part(line.part.id).any(|(it, _)| it.in_time);
            if short > 0 && line.bought.is_empty() && !(is_covered && could_come) {
                // Enough may be on its way, if too late; more of the same would come no sooner.
                let is_coming = line.on_order.late >= short;
                let found = self.first(line.part.id, short);
                line.bought
                    .extend(found.filter(|it| it.in_time || !is_coming));
            }
            if let [bought] = &line.bought[..] {
                line.alternative = self.instead(line.part.id, line.short, bought);
            }
        }
    }
}

/// A plan, and what it buys: part, packs, offer.
type Solved<'a> = (Plan, Vec<(usize, i64, &'a Selling)>);

impl<'a> Stall<'a> {
    fn add(
        &mut self,
        part: usize,
        selling: &'a Selling,
        seller: &super::Seller,
    ) -> Result<(), Error> {
        let row = &seller.row;
        let known = self.suppliers.iter().position(|(id, _)| *id == row.id);
        let supplier = if let Some(place) = known {
            place
        } else {
            let currency = Currency::parse(&row.currency)
                .map_err(|error| Error::Internal(format!("{}: {error}", row.code)))?;
            let terms = Supplier {
                freight_minor: row.freight_minor,
                free_over_minor: row.free_over_minor,
                minimum_minor: row.minimum_minor,
                currency,
            };
            self.suppliers.push((row.id, terms));
            self.suppliers.len() - 1
        };
        let prices = std::iter::once((1, selling.row.price_minor));
        let breaks = selling
            .breaks
            .iter()
            .map(|it| (it.packs_min, it.price_minor));
        let prices: Vec<(i64, i64)> = prices.chain(breaks).collect();
        for (place, (packs_min, price_minor)) in prices.iter().enumerate() {
            let offer = Offer {
                part,
                supplier,
                pack_size: selling.row.pack_size,
                price_minor: *price_minor,
                packs_min: *packs_min,
                packs_max: prices.get(place + 1).map(|(next, _)| next - 1),
            };
            self.offers.push((offer, selling));
        }
        Ok(())
    }

    /// All of it, as the domain weighs it.
    fn market(&self) -> Result<order::Market, OrderError> {
        let suppliers = self.suppliers.iter().map(|(_, terms)| *terms);
        let offers = self.offers.iter().map(|(offer, _)| *offer);
        order::Market::new(suppliers.collect(), offers.collect())
    }

    /// So many packs of an offer, at the price that holds for so many.
    fn purchase(&self, of: &Selling, packs: i64) -> Option<Purchase> {
        let offer = self.offers.iter().position(|(offer, selling)| {
            let reached = offer.packs_min.max(1) <= packs;
            let kept = offer.packs_max.is_none_or(|max| packs <= max);
            selling.row.id == of.row.id && reached && kept
        });
        offer.map(|offer| Purchase { offer, packs })
    }

    /// What is to be bought here of a part by itself, which nobody else can.
    fn short(&self, line: &Weighed) -> i64 {
        let sold = self
            .offers
            .iter()
            .any(|(_, it)| it.row.part_id == line.part.id);
        if sold { line.short } else { 0 }
    }

    /// Solves, and takes care that packs of one size are all bought at one price; none if no order
    /// reaches the goal.
    ///
    /// The domain takes each price for an offer of its own. Where an order mixes two prices of one
    /// pack, which only pays to reach a minimum, the dearer is left out and it is solved again; the
    /// bound stays that of the first, which allowed more.
    fn solve(
        &self,
        of: impl Fn(&order::Market) -> Result<Plan, OrderError>,
    ) -> Result<Option<Solved<'a>>, Error> {
        let suppliers: Vec<Supplier> = self.suppliers.iter().map(|(_, terms)| *terms).collect();
        let mut offers = self.offers.clone();
        let mut at_least: Option<i64> = None;
        for _ in 0..ROUNDS {
            let given = offers.iter().map(|(offer, _)| *offer).collect();
            let plan = order::Market::new(suppliers.clone(), given).and_then(|market| of(&market));
            let mut plan = match plan {
                Ok(plan) => plan,
                Err(OrderError::Unreachable) => return Ok(None),
                Err(error) => {
                    return Err(Error::WrongState(format!(
                        "no order can be proposed: {error}"
                    )));
                }
            };
            plan.at_least_minor = at_least.unwrap_or(plan.at_least_minor).min(plan.cost_minor);
            at_least = Some(plan.at_least_minor);
            let mut packs: BTreeMap<Uuid, Vec<usize>> = BTreeMap::new();
            for purchase in &plan.purchases {
                let (_, selling) = &offers[purchase.offer];
                packs
                    .entry(selling.row.id)
                    .or_default()
                    .push(purchase.offer);
            }
            let mixed = packs.values().find(|places| places.len() > 1);
            let Some(dearer) = mixed.and_then(|places| places.first().copied()) else {
                let bought = plan.purchases.iter().map(|purchase| {
                    let (offer, selling) = offers[purchase.offer];
                    (offer.part, purchase.packs, selling)
                });
                let bought = bought.collect();
                return Ok(Some((plan, bought)));
            };
            offers.remove(dearer);
        }
        Ok(None)
    }
}

/// The pieces that are bought of a part, if they come in time.
pub(in crate::service::needs) fn in_time(bought: &[Bought]) -> i64 {
    let pieces = bought.iter().filter(|it| it.in_time).map(|it| it.pieces);
    pieces.sum()
}
