//! What could be bought of one part in the cheapest order: all combinations of packs that a bound
//! from below does not rule out.

use std::collections::BTreeMap;

use super::curve::{Curve, Step};
use super::goal::Table;
use super::multipliers::Dual;
use super::relaxed::Space;
use super::states::{State, number};

/// No part has more choices than this; with more, the search is left unproven.
const CHOICES_MAX: usize = 20_000;

/// One way to buy a part.
#[derive(Debug, Clone)]
pub(super) struct Choice {
    /// What it costs, in minor units.
    pub(super) cost: f64,
    /// How much more it counts than the best way, where chance and least sums have their worth.
    pub(super) excess: f64,
    /// The logarithm of the chance that the part lasts.
    pub(super) ln: f64,
    /// The goods at each supplier with a least sum.
    pub(super) goods: Vec<f64>,
    /// Packs by offer.
    pub(super) packs: Vec<(usize, u32)>,
}

/// The choices of one part.
pub(super) struct Choices {
    pub(super) ways: Vec<Choice>,
    /// What the best way counts; the sum over parts belongs to the bound.
    pub(super) least: f64,
    /// Whether no choice was left out.
    pub(super) is_complete: bool,
}

/// The choices of a part whose excess is at most `gap`, where the suppliers of `held` have a least
/// sum to reach.
pub(super) fn of_part(
    space: &Space<'_>,
    table: &Table,
    (state, dual): (&State, &Dual),
    (held, gap): (&[usize], f64),
) -> Choices {
    let is_held = |supplier: usize| held.contains(&supplier);
    let free: Vec<bool> = (state.used.iter().enumerate())
        .map(|(supplier, used)| *used && !is_held(supplier))
        .collect();
    let asked: Vec<bool> = (state.used.iter().enumerate())
        .map(|(supplier, used)| *used && is_held(supplier))
        .collect();
    let one = vec![1.0; free.len()];
    let base = Curve::new(space.steps(table, &free, &one), table.end());
    let steps: Vec<Step> = space.steps(table, &asked, &dual.scale).collect();
    let mut walk = Walk {
        space,
        table,
        corners: base.corners(),
        base,
        suffix: Vec::new(),
        steps,
        dual,
        held,
        least: state.least.as_slice(),
        gap,
        found: Choices {
            ways: Vec::new(),
            least: 0.0,
            is_complete: true,
        },
    };
    walk.count();
    walk.found.least = walk.suffix[0][0];
    walk.gap += walk.found.least;
    walk.visit();
    let mut found = walk.found;
    for choice in &mut found.ways {
        choice.excess -= found.least;
    }
    found
}

struct Walk<'a> {
    space: &'a Space<'a>,
    table: &'a Table,
    base: Curve,
    corners: Vec<usize>,
    /// The least that the rest counts, by step and by units so far.
    suffix: Vec<Vec<f64>>,
    steps: Vec<Step>,
    dual: &'a Dual,
    held: &'a [usize],
    least: &'a [i64],
    gap: f64,
    found: Choices,
}

/// What is bought of the held offers so far.
#[derive(Clone)]
struct Taken {
    units: usize,
    /// The goods at each held supplier, in minor units.
    goods: Vec<i64>,
    packs: Vec<(usize, u32)>,
}

impl Walk<'_> {
    fn after(&self, units: usize, more: usize) -> usize {
        units.saturating_add(more).min(self.table.end())
    }

    /// What the chance at a row counts: less than nothing, the better it is.
    fn value(&self, row: usize) -> f64 {
        let ln = self.table.ln[row];
        if ln.is_finite() {
            -self.dual.worth * ln
        } else {
            f64::INFINITY
        }
    }

    /// Fills the table of what the rest counts at the least, from the last step back.
    fn count(&mut self) {
        let rows = 0..=self.table.end();
        let cost = self.base.cost();
        let last = rows.clone().map(|units| {
            let ways = self
                .corners
                .iter()
                .map(|row| cost[*row] + self.value(self.after(units, *row)));
            ways.fold(f64::INFINITY, f64::min)
        });
        let mut suffix = vec![last.collect::<Vec<f64>>()];
        for step in self.steps.iter().rev() {
            let Some(later) = suffix.last() else { break };
            let now = rows.clone().map(|units| {
                let mut least = later[units];
                let mut packs = step.min;
                loop {
                    let after = self.after(units, packs.saturating_mul(step.size));
                    if step.max.is_some_and(|max| packs > max) {
                        break;
                    }
                    least = least.min(step.price * packs_real(packs) + later[after]);
                    if after == self.table.end() {
                        break;
                    }
                    packs += 1;
                }
                least
            });
            let now = now.collect();
            suffix.push(now);
        }
        suffix.reverse();
        self.suffix = suffix;
    }

    /// What the goods at the held suppliers count.
    fn scaled(&self, goods: &[i64]) -> f64 {
        let held = self.held.iter().zip(goods);
        held.map(|(supplier, goods)| number(*goods) * self.dual.scale[*supplier])
            .sum()
    }

    /// What goods beyond a least sum cost more than they count: there they serve no least sum any more.
    fn beyond(&self, goods: &[i64]) -> f64 {
        let held = self.held.iter().zip(goods).map(|(supplier, goods)| {
            let beyond = (goods - self.least[*supplier]).max(0);
            number(beyond) * (1.0 - self.dual.scale[*supplier])
        });
        held.sum()
    }

    /// Whether a part with these goods may be in an order that is cheaper than the best known, where
    /// the rest of the part counts so much at the least.
    fn may_serve(&self, goods: &[i64], rest: f64) -> bool {
        self.scaled(goods) + self.beyond(goods) + rest <= self.gap
    }

    /// Goes through the held offers, keeping the way with most units to each set of sums.
    fn visit(&mut self) {
        let mut taken = vec![Taken {
            units: 0,
            goods: vec![0; self.held.len()],
            packs: Vec::new(),
        }];
        for depth in 0..self.steps.len() {
            let mut next = Kept::new();
            for one in taken {
                if next.len() > CHOICES_MAX {
                    self.found.is_complete = false;
                    break;
                }
                self.take(depth, one, &mut next);
            }
            taken = next.into_values().collect();
        }
        for one in taken {
            if self.found.ways.len() > CHOICES_MAX {
                self.found.is_complete = false;
                return;
            }
            self.finish(&one);
        }
    }

    /// All numbers of packs of one offer that may lead to a choice.
    fn take(&self, depth: usize, one: Taken, next: &mut Kept) {
        let (step, later) = (self.steps[depth], &self.suffix[depth + 1]);
        let offer = &self.space.market.offers()[step.offer];
        let place = self.held.iter().position(|it| *it == offer.supplier);
        let Some(place) = place else { return };
        let least = self.least[offer.supplier];
        let mut packs = step.min;
        while step.max.is_none_or(|max| packs <= max) {
            let count = u32::try_from(packs).unwrap_or(u32::MAX);
            let mut with = one.clone();
            with.units = self.after(one.units, packs.saturating_mul(step.size));
            with.goods[place] += offer.price_minor.saturating_mul(i64::from(count));
            let is_last = with.units == self.table.end();
            if self.may_serve(&with.goods, later[with.units]) {
                with.packs.push((step.offer, count));
                let enough = with.goods[place] >= least || offer.price_minor == 0;
                keep(next, with);
                if is_last && enough {
                    // More of it serves neither the part nor the least sum.
                    break;
                }
            } else if is_last {
                // From here on every pack only costs more.
                break;
            }
            packs += 1;
        }
        if self.may_serve(&one.goods, later[one.units]) {
            keep(next, one);
        }
    }

    /// All held offers are decided; what is left comes from the other suppliers.
    fn finish(&mut self, taken: &Taken) {
        let scaled = self.scaled(&taken.goods);
        let goods: Vec<f64> = taken.goods.iter().map(|goods| number(*goods)).collect();
        for row in &self.corners {
            let (after, cost) = (self.after(taken.units, *row), self.base.cost()[*row]);
            let rest = cost + self.value(after);
            if self.may_serve(&taken.goods, rest) {
                let mut packs = taken.packs.clone();
                self.base
                    .trace(*row, |offer, count| packs.push((offer, count)));
                self.found.ways.push(Choice {
                    cost: goods.iter().sum::<f64>() + cost,
                    excess: scaled + rest,
                    ln: self.table.ln[after],
                    goods: goods.clone(),
                    packs,
                });
            }
            if after == self.table.end() {
                break;
            }
        }
    }
}

/// One way to each set of sums at the held suppliers.
type Kept = BTreeMap<Vec<i64>, Taken>;

/// Keeps what brings more for the same money.
fn keep(kept: &mut Kept, taken: Taken) {
    match kept.get(&taken.goods) {
        Some(known) if known.units >= taken.units => {}
        _ => {
            kept.insert(taken.goods.clone(), taken);
        }
    }
}

fn packs_real(packs: usize) -> f64 {
    f64::from(u32::try_from(packs).unwrap_or(u32::MAX))
}
