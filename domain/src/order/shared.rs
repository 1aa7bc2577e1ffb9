//! Orders for jobs whose parts share a factor, where the chance of the whole is a mean of products
//! and no product.

use super::goal::{Goal, ROWS_MAX, Table};
use super::{Market, OrderError, Plan, Purchase};
use crate::job::JobLine;
use crate::shared_factor::{Node, SharedFactor};

mod bound;
mod few;

/// What the mean chance of being short may still be at the end of a table.
const SHORT: f64 = 1e-7;

/// Chances that agree this well count as equal.
pub(super) const ALLOWANCE: f64 = 1e-12;

/// How often a tangent is taken.
const TANGENTS: u32 = 12;

/// The chances of all parts, by unit bought and by point of the factor.
pub(super) struct Chances<'a> {
    pub(super) market: &'a Market,
    pub(super) nodes: Vec<Node>,
    pub(super) parts: Vec<Part>,
    pub(super) target: f64,
}

/// One part: its offers, and the logarithm of the chance that it lasts by row of units bought and by
/// point of the factor.
pub(super) struct Part {
    pub(super) table: Table,
    pub(super) ln: Vec<Vec<f64>>,
}

impl Part {
    fn new(table: Table, line: &JobLine, nodes: &[Node], part: usize) -> Result<Self, OrderError> {
        let mut ln = Vec::new();
        let mut available = line.available;
        loop {
            let pieces = u64::try_from(available).unwrap_or(0);
            let short = |node: &Node| line.predictive.stretched(node.factor).sf(pieces);
            let row: Vec<f64> = nodes.iter().map(|node| (-short(node)).ln_1p()).collect();
            let mean: f64 = (nodes.iter().zip(&row))
                .map(|(node, ln)| -node.weight * ln.exp_m1())
                .sum();
            ln.push(row);
            let Some(unit) = table.unit().filter(|_| mean > SHORT) else {
                return Ok(Self { table, ln });
            };
            if ln.len() > ROWS_MAX {
                return Err(OrderError::TooFine(part));
            }
            available = available.saturating_add(unit);
        }
    }

    /// The mean chance that this part lasts with so many units more.
    pub(super) fn mean(&self, nodes: &[Node], row: usize) -> f64 {
        let each = nodes.iter().zip(&self.ln[row]);
        each.map(|(node, ln)| node.weight * ln.exp()).sum()
    }
}

impl Chances<'_> {
    /// The logarithm of the product at each point of the factor.
    fn products(&self, rows: &[usize]) -> Vec<f64> {
        let mut products = vec![0.0; self.nodes.len()];
        for (part, row) in self.parts.iter().zip(rows) {
            for (product, ln) in products.iter_mut().zip(&part.ln[*row]) {
                *product += ln;
            }
        }
        products
    }

    /// The chance of the whole job.
    pub(super) fn joint(&self, rows: &[usize]) -> f64 {
        let products = self.products(rows);
        let each = self.nodes.iter().zip(products);
        each.map(|(node, ln)| node.weight * ln.exp()).sum()
    }

    pub(super) fn reaches(&self, rows: &[usize]) -> bool {
        self.joint(rows) >= self.target * (1.0 - ALLOWANCE)
    }

    /// The target less what the ends of the tables leave out: below it no order reaches the target.
    pub(super) fn sure(&self) -> f64 {
        let parts = crate::special::real(self.parts.len() as u64);
        self.target * (1.0 - ALLOWANCE) - SHORT * parts
    }

    fn rows(&self, purchases: &[Purchase]) -> Vec<usize> {
        let parts = self.parts.iter();
        parts
            .map(|part| {
                part.table
                    .units(self.market, purchases)
                    .min(part.ln.len() - 1)
            })
            .collect()
    }

    /// The cheapest order for tables that add up.
    pub(super) fn solve(
        &self,
        of: impl Fn(&Part, usize) -> f64,
        ln_target: f64,
    ) -> Result<Plan, OrderError> {
        let tables = self.parts.iter().map(|part| {
            let rows = 0..part.ln.len();
            rows.map(|row| of(part, row)).collect()
        });
        self.market
            .cheapest(&Goal::tables_of(tables.collect(), ln_target))
    }

    /// An order that reaches the target: with every part at its mean, since chances that all fall
    /// with the factor are together at least their product (Chebyshev's inequality); else along the
    /// tangent at the most of everything.
    fn first(&self) -> Result<Plan, OrderError> {
        let mean = |part: &Part, row: usize| part.mean(&self.nodes, row).ln();
        let by_means = self.solve(mean, self.target.ln());
        by_means.or_else(|_| {
            let most: Vec<usize> = self.parts.iter().map(|part| self.most(part)).collect();
            if self.reaches(&most) {
                self.along(&most)
            } else {
                Err(OrderError::Unreachable)
            }
        })
    }

    /// The most units of a part that all offers together bring, from suppliers whose minimum order can
    /// be met at all.
    fn most(&self, part: &Part) -> usize {
        let offers = part.table.offers.iter();
        let offers = offers.map(|index| &self.market.offers[*index]);
        let offers = offers.filter(|offer| self.market.meets_minimum(offer.supplier));
        let units = offers.map(|offer| {
            let packs = usize::try_from(offer.most_packs()).unwrap_or(usize::MAX);
            packs.saturating_mul(part.table.size(offer))
        });
        units.fold(0, usize::saturating_add).min(part.ln.len() - 1)
    }

    /// The cheapest order that the tangent at some rows shows to reach the target.
    fn along(&self, rows: &[usize]) -> Result<Plan, OrderError> {
        let products = self.products(rows);
        let joint = self.joint(rows);
        let weights: Vec<f64> = (self.nodes.iter().zip(&products))
            .map(|(node, ln)| node.weight * ln.exp() / joint)
            .collect();
        let slope = |part: &Part, row: usize| -> f64 {
            let each = weights.iter().zip(&part.ln[row]);
            each.filter(|(weight, _)| **weight > 0.0)
                .map(|(weight, ln)| weight * ln)
                .sum()
        };
        let at: f64 = (self.parts.iter().zip(rows))
            .map(|(part, row)| slope(part, *row))
            .sum();
        self.solve(slope, self.target.ln() - joint.ln() + at)
    }
}

/// The cheapest order for lines that share a factor.
pub(super) fn cheapest(
    market: &Market,
    lines: &[JobLine],
    shared: SharedFactor,
    target: f64,
) -> Result<Plan, OrderError> {
    if let Some(offer) = market.offers.iter().find(|offer| offer.part >= lines.len()) {
        return Err(OrderError::NoPart(offer.part, lines.len()));
    }
    let nodes = shared.nodes();
    let parts = lines.iter().enumerate().map(|(part, line)| {
        let table = Table::of(market, part);
        Part::new(table, line, &nodes, part)
    });
    let parts = parts.collect::<Result<Vec<_>, _>>()?;
    let chances = Chances {
        market,
        nodes,
        parts,
        target,
    };
    let mut best = chances.first()?;
    for _ in 0..TANGENTS {
        let Ok(next) = chances.along(&chances.rows(&best.purchases)) else {
            break;
        };
        if next.cost_minor >= best.cost_minor || !chances.reaches(&chances.rows(&next.purchases)) {
            break;
        }
        best = next;
    }
    best.at_least_minor = bound::at_least(&chances).min(best.cost_minor);
    if best.is_proven() {
        return Ok(best);
    }
    Ok(few::settle(&chances, best))
}
