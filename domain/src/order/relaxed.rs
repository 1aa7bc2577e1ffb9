//! The cheapest order without minimum orders and freight, each part allowed a fraction of its last
//! step: a bound from below, and a start for whole packs.

use super::curve::{Curve, Step};
use super::goal::Table;
use super::{Market, Offer};
use crate::special::real;

/// Chances that agree this well in their logarithms count as equal.
pub(super) const CHANCE_ALLOWANCE: f64 = 1e-12;

/// A market, the tables of a goal, and the logarithm of the chance that they are to reach.
#[derive(Clone, Copy)]
pub(super) struct Space<'a> {
    pub(super) market: &'a Market,
    pub(super) parts: &'a [Table],
    pub(super) ln_target: f64,
}

impl Space<'_> {
    /// The offers of a part at the suppliers that are asked, each pack counted at its price times
    /// the scale of its supplier.
    pub(super) fn steps<'s>(
        &'s self,
        table: &'s Table,
        asked: &'s [bool],
        scale: &'s [f64],
    ) -> impl Iterator<Item = Step> + 's {
        let asked = table.offers.iter().filter(move |index| {
            let offer = &self.market.offers[**index];
            asked[offer.supplier]
        });
        asked.map(move |index| {
            let offer = &self.market.offers[*index];
            step(*index, offer, table, scale[offer.supplier])
        })
    }
}

fn step(index: usize, offer: &Offer, table: &Table, scale: f64) -> Step {
    let count = |packs: i64| usize::try_from(packs).unwrap_or(usize::MAX);
    Step {
        offer: index,
        size: table.size(offer),
        price: money(offer.price_minor) * scale,
        min: count(offer.packs_min.max(1)),
        max: offer.packs_max.map(count),
    }
}

/// Minor units as floating point; exact, since sums are checked.
pub(super) fn money(minor: i64) -> f64 {
    let size = real(minor.unsigned_abs());
    if minor < 0 { -size } else { size }
}

/// The relaxed order.
pub(super) struct Relaxed {
    /// No whole packs that reach the goal count less, in scaled minor units.
    pub(super) bound: f64,
    /// What one unit of the logarithm of the chance is worth, in minor units.
    pub(super) worth: f64,
    /// The row of each part, rounded up so that the goal is reached.
    pub(super) rows: Vec<usize>,
    /// The curve of each part.
    pub(super) curves: Vec<Curve>,
}

/// One step along the lower hull of a part.
struct Rise {
    part: usize,
    row: usize,
    cost: f64,
    ln: f64,
}

impl Relaxed {
    /// The relaxed order from the suppliers that are asked; none if they do not reach the goal.
    ///
    /// The multiple-choice knapsack without whole numbers: on the lower convex hulls of cost against
    /// logarithm of the chance, the steps that buy most are taken first (P. Sinha, A. A. Zoltners,
    /// *Operations Research* 27, 1979).
    pub(super) fn new(space: &Space<'_>, asked: &[bool], scale: &[f64]) -> Option<Self> {
        let (mut bound, mut ln) = (0.0, 0.0);
        let mut rows = Vec::with_capacity(space.parts.len());
        let mut curves = Vec::with_capacity(space.parts.len());
        let mut rises = Vec::new();
        for (part, table) in space.parts.iter().enumerate() {
            let curve = Curve::new(space.steps(table, asked, scale), table.end());
            let hull = hull(&curve, table);
            let first = *hull.first()?;
            bound += curve.cost()[first];
            ln += table.ln[first];
            rows.push(first);
            let steps = hull.windows(2).map(|pair| Rise {
                part,
                row: pair[1],
                cost: curve.cost()[pair[1]] - curve.cost()[pair[0]],
                ln: table.ln[pair[1]] - table.ln[pair[0]],
            });
            rises.extend(steps);
            curves.push(curve);
        }
        rises.sort_by(|a, b| (a.cost * b.ln).total_cmp(&(b.cost * a.ln)));
        let mut worth = 0.0;
        let mut rises = rises.into_iter();
        while ln < space.ln_target - CHANCE_ALLOWANCE {
            let rise = rises.next()?;
            worth = rise.cost / rise.ln;
            let wanting = space.ln_target - ln;
            bound += rise.cost.min(worth * wanting);
            ln += rise.ln;
            rows[rise.part] = rise.row;
        }
        Some(Self {
            bound,
            worth,
            rows,
            curves,
        })
    }

    /// Steps parts back where the goal is reached all the same, the largest saving first.
    pub(super) fn trim(&mut self, space: &Space<'_>) {
        let ln: f64 = (space.parts.iter().zip(&self.rows))
            .map(|(table, row)| table.ln[*row])
            .sum();
        let mut spare = ln - space.ln_target + CHANCE_ALLOWANCE;
        loop {
            let mut best: Option<(f64, usize, usize)> = None;
            for (part, table) in space.parts.iter().enumerate() {
                let (row, cost) = (self.rows[part], self.curves[part].cost());
                for lower in 0..row {
                    let saving = cost[row] - cost[lower];
                    let fits = table.ln[row] - table.ln[lower] <= spare;
                    if fits && saving > best.map_or(0.0, |best| best.0) {
                        best = Some((saving, part, lower));
                    }
                }
            }
            let Some((_, part, lower)) = best else { return };
            let ln = &space.parts[part].ln;
            spare -= ln[self.rows[part]] - ln[lower];
            self.rows[part] = lower;
        }
    }

    /// The packs of each offer that the rows stand for.
    pub(super) fn packs(&self, space: &Space<'_>) -> Vec<i64> {
        let mut packs = vec![0_i64; space.market.offers.len()];
        for (curve, row) in self.curves.iter().zip(&self.rows) {
            curve.trace(*row, |offer, count| packs[offer] += i64::from(count));
        }
        packs
    }
}

/// The rows on the lower convex hull of cost against logarithm of the chance, cheapest first.
fn hull(curve: &Curve, table: &Table) -> Vec<usize> {
    let cost = curve.cost();
    let mut hull: Vec<usize> = Vec::new();
    let corners = curve.corners();
    let possible = corners.iter().filter(|row| table.ln[**row].is_finite());
    for row in possible {
        if hull
            .last()
            .is_some_and(|last| table.ln[*row] <= table.ln[*last])
        {
            continue;
        }
        while let [.., first, second] = hull[..] {
            let before = (cost[second] - cost[first]) * (table.ln[*row] - table.ln[second]);
            let after = (cost[*row] - cost[second]) * (table.ln[second] - table.ln[first]);
            if before < after {
                break;
            }
            hull.pop();
        }
        hull.push(*row);
    }
    hull
}
