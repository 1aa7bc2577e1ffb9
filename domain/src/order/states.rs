//! Which suppliers are used, and which of them are paid freight: every combination that could be
//! the cheapest, the most promising first.

use std::collections::HashMap;

use super::exact::{self, Depth};
use super::fill::fill;
use super::goal::Table;
use super::relaxed::{CHANCE_ALLOWANCE, Relaxed, Space, money};
use super::{Market, OrderError, Plan, Purchase, multipliers};
use crate::special::real;

/// So many states are gathered before they are searched.
const STATES_MAX: usize = 4_096;

/// How many partial orders are kept at the first look at a state, and at those after it: the better the
/// order to beat, the less is left for a whole search.
const WIDTHS: [usize; 3] = [100, 1_000, 10_000];

/// Rounding of a bound in minor units.
const ROUNDING: f64 = 1e-4;

/// Which suppliers are used, and what that fixes.
#[derive(Debug, Clone)]
pub(super) struct State {
    pub(super) used: Vec<bool>,
    /// The least goods at each, in minor units.
    pub(super) least: Vec<i64>,
    /// The freight that is paid, in minor units.
    pub(super) fixed: i64,
}

impl State {
    fn none(suppliers: usize) -> Self {
        Self {
            used: vec![false; suppliers],
            least: vec![0; suppliers],
            fixed: 0,
        }
    }

    /// The same with one more supplier: once paid freight, and once saving it.
    fn with(&self, market: &Market, supplier: usize) -> Vec<Self> {
        let row = &market.suppliers[supplier];
        let mut paying = self.clone();
        paying.used[supplier] = true;
        paying.least[supplier] = row.minimum_minor;
        let mut saving = paying.clone();
        paying.fixed += row.freight_minor;
        match row.free_over_minor {
            Some(over) if row.freight_minor > 0 => {
                saving.least[supplier] = over.max(row.minimum_minor);
                vec![saving, paying]
            }
            _ => vec![paying],
        }
    }

    /// What is spent at the suppliers with a least sum, at the least.
    fn spent(&self) -> f64 {
        money(self.fixed) + self.least.iter().map(|least| money(*least)).sum::<f64>()
    }
}

/// The cheapest order found so far, and what is known of those not found.
pub(super) struct Best {
    pub(super) cost: Option<i64>,
    packs: Vec<i64>,
    /// The lowest bound of a state that was not searched to its end.
    open: Option<i64>,
}

impl Best {
    /// Whether nothing at or above a bound can be cheaper than what was found.
    pub(super) fn rules_out(&self, bound: f64) -> bool {
        self.cost
            .is_some_and(|cost| money(cost) - 1.0 < bound - ROUNDING)
    }

    /// How far the best known order is above a bound, in minor units.
    pub(super) fn above(&self, bound: f64) -> f64 {
        self.cost.map_or(bound.abs(), |cost| money(cost) - bound)
    }

    /// Notes a state that was left at a bound.
    pub(super) fn leave(&mut self, bound: f64) {
        let bound = minor_at_or_above(bound - ROUNDING);
        self.open = Some(self.open.map_or(bound, |open| open.min(bound)));
    }

    /// Takes an order if it is the cheapest yet, spending more where a state asks for it.
    pub(super) fn take(
        &mut self,
        space: &Space<'_>,
        state: &State,
        mut packs: Vec<i64>,
        goods: &[i64],
    ) {
        let spent = goods.iter().zip(&state.least);
        let cost: i64 = spent.map(|(goods, least)| *goods.max(least)).sum();
        if self.cost.is_some_and(|best| cost + state.fixed >= best) {
            return;
        }
        for (supplier, least) in state.least.iter().enumerate() {
            if state.used[supplier] && !fill(space.market, &mut packs, supplier, *least) {
                return;
            }
        }
        self.note(space, packs);
    }

    /// Keeps an order if it holds and is the cheapest yet.
    pub(super) fn note(&mut self, space: &Space<'_>, packs: Vec<i64>) {
        let Some(cost) = space.market.cost(&purchases(&packs)) else {
            return;
        };
        if self.cost.is_none_or(|best| cost < best) && reaches(space, &packs) {
            self.cost = Some(cost);
            self.packs = packs;
        }
    }
}

fn purchases(packs: &[i64]) -> Vec<Purchase> {
    let bought = packs.iter().enumerate().filter(|(_, packs)| **packs > 0);
    bought
        .map(|(offer, packs)| Purchase {
            offer,
            packs: *packs,
        })
        .collect()
}

/// Whether packs reach the goal.
fn reaches(space: &Space<'_>, packs: &[i64]) -> bool {
    let ln = space.parts.iter().map(|table| {
        let units = table.offers.iter().map(|index| {
            let bought = usize::try_from(packs[*index]).unwrap_or(0);
            bought.saturating_mul(table.size(&space.market.offers[*index]))
        });
        let units = units.fold(0, usize::saturating_add);
        table.ln[units.min(table.end())]
    });
    ln.sum::<f64>() >= space.ln_target - CHANCE_ALLOWANCE
}

fn minor_at_or_above(bound: f64) -> i64 {
    let whole = crate::special::count_at_or_below(bound.ceil().max(0.0));
    i64::try_from(whole).unwrap_or(i64::MAX)
}

/// The cheapest order over all states.
pub(super) fn cheapest(
    market: &Market,
    parts: &[Table],
    ln_target: f64,
) -> Result<Plan, OrderError> {
    let mut walk = Walk::new(market, parts, ln_target);
    let suppliers = market.suppliers.len();
    if walk.relaxed(&vec![true; suppliers]).is_none() {
        return Err(OrderError::Unreachable);
    }
    walk.start();
    walk.visit(0, &State::none(suppliers));
    walk.search();
    let Best { cost, packs, open } = walk.best;
    let cost_minor = cost.ok_or(OrderError::Unreachable)?;
    Ok(Plan {
        purchases: purchases(&packs),
        cost_minor,
        at_least_minor: open.map_or(cost_minor, |open| open.min(cost_minor)),
    })
}

/// A good order without a search, from all suppliers or from one alone; what no order costs less than
/// leaves freight and minimum orders out.
pub(super) fn roughly(
    market: &Market,
    parts: &[Table],
    ln_target: f64,
) -> Result<Plan, OrderError> {
    let mut walk = Walk::new(market, parts, ln_target);
    let all = vec![true; market.suppliers.len()];
    let bound = walk.relaxed(&all).ok_or(OrderError::Unreachable)?;
    walk.start();
    let cost_minor = walk.best.cost.ok_or(OrderError::Unreachable)?;
    Ok(Plan {
        purchases: purchases(&walk.best.packs),
        cost_minor,
        at_least_minor: minor_at_or_above(bound - ROUNDING).min(cost_minor),
    })
}

struct Walk<'a> {
    space: Space<'a>,
    /// The bound of the goods by who may be asked; none where they do not reach the goal.
    bounds: HashMap<Vec<bool>, Option<f64>>,
    gathered: Vec<(f64, State)>,
    best: Best,
}

impl<'a> Walk<'a> {
    fn new(market: &'a Market, parts: &'a [Table], ln_target: f64) -> Self {
        Self {
            space: Space {
                market,
                parts,
                ln_target,
            },
            bounds: HashMap::new(),
            gathered: Vec::new(),
            best: Best {
                cost: None,
                packs: Vec::new(),
                open: None,
            },
        }
    }

    /// The bound of the goods from suppliers that may be asked.
    fn relaxed(&mut self, asked: &[bool]) -> Option<f64> {
        if let Some(known) = self.bounds.get(asked) {
            return *known;
        }
        let scale = vec![1.0; asked.len()];
        let bound = Relaxed::new(&self.space, asked, &scale).map(|relaxed| relaxed.bound);
        self.bounds.insert(asked.to_vec(), bound);
        bound
    }

    /// A first order: from all suppliers, and from each alone.
    fn start(&mut self) {
        let suppliers = self.space.market.suppliers.len();
        let all = (0..suppliers).collect();
        let alone = (0..suppliers).map(|supplier| vec![supplier]);
        let sets: Vec<Vec<usize>> = std::iter::once(all).chain(alone).collect();
        for set in sets {
            let mut state = State::none(suppliers);
            for supplier in set {
                if let Some(paying) = state.with(self.space.market, supplier).pop() {
                    state = paying;
                }
            }
            let scale = vec![1.0; suppliers];
            if let Some(mut relaxed) = Relaxed::new(&self.space, &state.used, &scale) {
                relaxed.trim(&self.space);
                let packs = relaxed.packs(&self.space);
                self.take_used(packs);
            }
        }
    }

    /// Takes an order with the freight and the minimum of just those suppliers that it uses.
    fn take_used(&mut self, packs: Vec<i64>) {
        let market = self.space.market;
        let mut state = State::none(market.suppliers.len());
        for (offer, count) in market.offers.iter().zip(&packs) {
            if *count > 0
                && !state.used[offer.supplier]
                && let Some(paying) = state.with(market, offer.supplier).pop()
            {
                state = paying;
            }
        }
        let goods = vec![0; market.suppliers.len()];
        self.best.take(&self.space, &state, packs, &goods);
    }

    /// Gathers the states that decide about the suppliers from `supplier` on.
    fn visit(&mut self, supplier: usize, state: &State) {
        let suppliers = self.space.market.suppliers.len();
        let mut asked = state.used.clone();
        for later in &mut asked[supplier..] {
            *later = true;
        }
        let Some(goods) = self.relaxed(&asked) else {
            return;
        };
        let bound = (goods + money(state.fixed)).max(state.spent());
        if self.best.rules_out(bound) {
            return;
        }
        if supplier == suppliers {
            self.gathered.push((bound, state.clone()));
            if self.gathered.len() >= STATES_MAX {
                self.search();
            }
            return;
        }
        for with in state.with(self.space.market, supplier) {
            self.visit(supplier + 1, &with);
        }
        self.visit(supplier + 1, state);
    }

    /// Searches what was gathered, the lowest bound first.
    fn search(&mut self) {
        let mut states = std::mem::take(&mut self.gathered);
        states.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut left = Vec::new();
        for (bound, state) in states {
            if self.best.rules_out(bound) {
                break;
            }
            let Some(dual) = multipliers::best(&self.space, &state, &mut self.best) else {
                continue;
            };
            if !self.best.rules_out(dual.bound.max(bound)) {
                exact::search(
                    &self.space,
                    (&state, &dual),
                    Depth::Glance(WIDTHS[0]),
                    &mut self.best,
                );
                left.push((dual.bound.max(bound), state, dual));
            }
        }
        left.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (bound, state, dual) in left {
            let closer = WIDTHS[1..].iter().map(|width| Depth::Glance(*width));
            for depth in closer.chain([Depth::Whole]) {
                if self.best.rules_out(bound) {
                    break;
                }
                exact::search(&self.space, (&state, &dual), depth, &mut self.best);
            }
        }
    }
}

/// What lies between a bound and the best known, in minor units.
pub(super) fn gap(best: &Best, bound: f64) -> f64 {
    best.cost
        .map_or(f64::INFINITY, |cost| money(cost) - 1.0 - bound + ROUNDING)
}

/// A count as floating point.
pub(super) fn number(count: i64) -> f64 {
    real(count.unsigned_abs())
}
