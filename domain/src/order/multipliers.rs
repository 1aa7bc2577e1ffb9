//! What spending at a supplier is worth towards its minimum order or its saved freight: the scale of
//! its prices that gives the best bound from below for one state of all suppliers.

use super::fill::goods;
use super::relaxed::{Relaxed, Space, money};
use super::states::{Best, State};

/// How often one scale is halved, and how often all are gone through.
const HALVINGS: u32 = 10;
const ROUNDS: u32 = 3;

/// Steps along the slope at the most, and how much shorter one gets that did not help.
const STEPS: u32 = 60;
const SHORTER: f64 = 0.9;

/// The best bound of a state.
pub(super) struct Dual {
    /// No order in this state costs less, in minor units.
    pub(super) bound: f64,
    /// The scale of the prices of each supplier, from 0 to 1.
    pub(super) scale: Vec<f64>,
    /// What one unit of the logarithm of the chance is worth, in minor units.
    pub(super) worth: f64,
}

/// The best bound that was found, and on the way every order that turns up. None if the suppliers of
/// the state do not reach the goal.
///
/// The bound is concave in the scales. Along one scale its slope has the sign of the least sum less
/// the goods, so halving finds the top; several are gone through in turn, which need not end at the
/// top of all, but whatever it ends at is a bound.
pub(super) fn best(space: &Space<'_>, state: &State, found: &mut Best) -> Option<Dual> {
    let suppliers = space.market.suppliers.len();
    let mut search = Search {
        space,
        state,
        found,
        dual: Dual {
            bound: f64::NEG_INFINITY,
            scale: vec![1.0; suppliers],
            worth: 0.0,
        },
    };
    let mut scale = vec![1.0; suppliers];
    let goods = search.at(&scale)?;
    let bound: Vec<usize> = (0..suppliers).filter(|it| state.least[*it] > 0).collect();
    if bound.iter().all(|it| goods[*it] >= state.least[*it]) {
        return Some(search.dual);
    }
    let rounds = if bound.len() == 1 { 1 } else { ROUNDS };
    for _ in 0..rounds {
        for supplier in &bound {
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..HALVINGS {
                if search.is_ruled_out() {
                    return Some(search.dual);
                }
                let middle = 0.5 * (low + high);
                scale[*supplier] = middle;
                let goods = search.at(&scale)?;
                // Too little is spent there: its prices count less.
                if goods[*supplier] < state.least[*supplier] {
                    high = middle;
                } else {
                    low = middle;
                }
            }
            scale[*supplier] = low;
            search.at(&scale)?;
            scale.clone_from(&search.dual.scale);
        }
    }
    if bound.len() > 1 {
        search.climb(&bound)?;
    }
    Some(search.dual)
}

struct Search<'a> {
    space: &'a Space<'a>,
    state: &'a State,
    found: &'a mut Best,
    dual: Dual,
}

impl Search<'_> {
    /// The goods of each supplier in the relaxed order at these scales.
    fn at(&mut self, scale: &[f64]) -> Option<Vec<i64>> {
        let mut relaxed = Relaxed::new(self.space, &self.state.used, scale)?;
        let mut bound = relaxed.bound + money(self.state.fixed);
        for (least, scale) in self.state.least.iter().zip(scale) {
            bound += money(*least) * (1.0 - scale);
        }
        if bound > self.dual.bound {
            self.dual = Dual {
                bound,
                scale: scale.to_vec(),
                worth: relaxed.worth,
            };
        }
        relaxed.trim(self.space);
        let packs = relaxed.packs(self.space);
        let suppliers = 0..self.space.market.suppliers.len();
        let goods: Vec<i64> = suppliers
            .map(|it| goods(self.space.market, &packs, it))
            .collect();
        self.found.take(self.space, self.state, packs, &goods);
        Some(goods)
    }

    /// Steps along the slope, each as long as would reach the best known order if the slope held; half
    /// as long whenever that does not help (B. T. Polyak, *USSR Computational Mathematics and
    /// Mathematical Physics* 9, 1969).
    fn climb(&mut self, bound: &[usize]) -> Option<()> {
        let mut scale = self.dual.scale.clone();
        let mut length = 1.0;
        for _ in 0..STEPS {
            if self.is_ruled_out() {
                break;
            }
            let before = self.dual.bound;
            let goods = self.at(&scale)?;
            if self.dual.bound <= before {
                length *= SHORTER;
            }
            let slope = |supplier: usize| money(self.state.least[supplier] - goods[supplier]);
            let square: f64 = bound.iter().map(|it| slope(*it) * slope(*it)).sum();
            if square <= 0.0 {
                break;
            }
            let wanting = self.found.above(self.dual.bound).max(1.0);
            for supplier in bound {
                let step = length * wanting * slope(*supplier) / square;
                scale[*supplier] = (scale[*supplier] - step).clamp(0.0, 1.0);
            }
        }
        Some(())
    }

    fn is_ruled_out(&self) -> bool {
        self.found.rules_out(self.dual.bound)
    }
}
