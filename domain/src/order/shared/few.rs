//! Going through all numbers of pieces where there are few: the last step to a proven order for
//! parts that share a factor.

use super::Chances;
use crate::order::curve::Curve;
use crate::order::relaxed::{Space, money};
use crate::order::{Goal, Plan};

/// So many combinations are looked at; with more, the bound stays as it was.
const TRIED_MAX: u32 = 4_000;

/// The cheapest order, or the best known where there are too many ways.
///
/// Numbers of pieces are cut off where a part is short with a mean chance of 1e-7, so an order that
/// is shown to be the cheapest is so among those that reach the target by more than that.
pub(super) fn settle(chances: &Chances<'_>, best: Plan) -> Plan {
    let suppliers = chances.market.suppliers().len();
    let (all, one) = (vec![true; suppliers], vec![1.0; suppliers]);
    let space = Space {
        market: chances.market,
        parts: &[],
        ln_target: 0.0,
    };
    let curves = chances.parts.iter().map(|part| {
        let steps = space.steps(&part.table, &all, &one);
        Curve::new(steps, part.ln.len() - 1).cost().to_vec()
    });
    let curves: Vec<Vec<f64>> = curves.collect();
    let lowest = chances.parts.iter().zip(&curves).map(|(part, curve)| {
        let alone = |row: &usize| part.mean(&chances.nodes, *row) >= chances.sure();
        let row = (0..part.ln.len()).find(alone).unwrap_or(part.ln.len() - 1);
        curve[row]
    });
    let lowest = lowest.collect();
    let most = chances.parts.iter().map(|part| part.ln.len() - 1).collect();
    let mut walk = Walk {
        chances,
        curves,
        lowest,
        rows: most,
        tried: 0,
        best,
    };
    walk.visit(0, 0.0);
    if walk.tried < TRIED_MAX {
        walk.best.at_least_minor = walk.best.cost_minor;
    }
    walk.best
}

struct Walk<'a> {
    chances: &'a Chances<'a>,
    /// The least that the goods cost, by part and by row, whoever sells them.
    curves: Vec<Vec<f64>>,
    /// The least that each part costs, if the target is to be reached at all.
    lowest: Vec<f64>,
    /// The row of each part; the most of those not decided yet.
    rows: Vec<usize>,
    tried: u32,
    best: Plan,
}

impl Walk<'_> {
    /// Decides about the parts from `part` on, with goods of at least `spent` before it.
    fn visit(&mut self, part: usize, spent: f64) {
        if self.tried >= TRIED_MAX {
            return;
        }
        self.tried += 1;
        if part == self.rows.len() {
            self.price();
            return;
        }
        let most = self.rows[part];
        let rest: f64 = self.lowest[part + 1..].iter().sum();
        for row in 0..=most {
            let with = spent + self.curves[part][row];
            if with + rest >= money(self.best.cost_minor) {
                break;
            }
            self.rows[part] = row;
            if self.chances.joint(&self.rows) >= self.chances.sure() {
                self.visit(part + 1, with);
                if part + 1 == self.rows.len() && self.chances.reaches(&self.rows) {
                    // More of the last part only costs more.
                    break;
                }
            }
        }
        self.rows[part] = most;
    }

    /// Prices what was decided, with all conditions of the suppliers.
    fn price(&mut self) {
        if !self.chances.reaches(&self.rows) {
            return;
        }
        let parts = self.chances.parts.iter().zip(&self.rows);
        let wanted = parts.map(|(part, row)| {
            let units = i64::try_from(*row).unwrap_or(i64::MAX);
            units.saturating_mul(part.table.unit().unwrap_or(1))
        });
        let Ok(goal) = Goal::pieces(wanted.collect()) else {
            return;
        };
        if let Ok(plan) = self.chances.market.cheapest(&goal)
            && plan.cost_minor < self.best.cost_minor
        {
            self.best = plan;
        }
    }
}
