//! The least cost of at least so many pieces of one part, from a set of offers: unbounded and
//! bounded knapsacks by pieces, with the packs that do it.

use crate::special::real;

/// One offer as a step of the curve, in the units of its part.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// Which offer.
    pub(super) offer: usize,
    /// Units in a pack.
    pub(super) size: usize,
    /// What a pack counts, in minor units; scaled where spending itself has a worth.
    pub(super) price: f64,
    /// The least number of packs, 1 or more.
    pub(super) min: usize,
    /// The greatest number of packs.
    pub(super) max: Option<usize>,
}

/// The least cost of at least q units, for q from 0 to the end of the table.
#[derive(Debug, Clone)]
pub(super) struct Curve {
    cost: Vec<f64>,
    layers: Vec<Layer>,
}

#[derive(Debug, Clone)]
struct Layer {
    step: Step,
    /// How many packs of this offer the best way to each number of units takes.
    packs: Vec<u32>,
}

impl Curve {
    pub(super) fn new(steps: impl IntoIterator<Item = Step>, upto: usize) -> Self {
        let mut cost = vec![f64::INFINITY; upto + 1];
        cost[0] = 0.0;
        let mut curve = Self {
            cost,
            layers: Vec::new(),
        };
        for step in steps {
            curve.add(step);
        }
        curve
    }

    /// The least cost of at least each number of units; infinite where the offers do not reach.
    pub(super) fn cost(&self) -> &[f64] {
        &self.cost
    }

    fn add(&mut self, step: Step) {
        let (cost, packs) = match step.max {
            None => with_any_number(&self.cost, &step),
            Some(max) => with_at_most(&self.cost, &step, max),
        };
        self.cost = cost;
        self.layers.push(Layer { step, packs });
    }

    /// The purchases behind at least `units`, as offer and packs.
    pub(super) fn trace(&self, units: usize, mut each: impl FnMut(usize, u32)) {
        let mut left = units.min(self.cost.len() - 1);
        for layer in self.layers.iter().rev() {
            let packs = layer.packs[left];
            if packs > 0 {
                each(layer.step.offer, packs);
                left = left.saturating_sub(size(packs).saturating_mul(layer.step.size));
            }
        }
    }

    /// The numbers of units that no other beats: each is the most that its cost buys.
    pub(super) fn corners(&self) -> Vec<usize> {
        let mut corners = Vec::new();
        let mut above = f64::INFINITY;
        for (units, cost) in self.cost.iter().enumerate().rev() {
            if *cost < above {
                corners.push(units);
                above = *cost;
            }
        }
        corners.reverse();
        corners
    }
}

fn size(packs: u32) -> usize {
    usize::try_from(packs).unwrap_or(usize::MAX)
}

fn count(packs: usize) -> u32 {
    u32::try_from(packs).unwrap_or(u32::MAX)
}

fn price_of(step: &Step, packs: usize) -> f64 {
    step.price * real(u64::from(count(packs)))
}

fn with_any_number(old: &[f64], step: &Step) -> (Vec<f64>, Vec<u32>) {
    let mut cost = old.to_vec();
    let mut packs = vec![0_u32; old.len()];
    // The best way that takes at least one pack of this offer.
    let mut with: Vec<(f64, u32)> = Vec::with_capacity(old.len());
    let first = price_of(step, step.min);
    for units in 0..old.len() {
        let mut best = (
            old[units.saturating_sub(step.min.saturating_mul(step.size))] + first,
            count(step.min),
        );
        if let Some((before, packs)) = units.checked_sub(step.size).and_then(|it| with.get(it)) {
            let more = before + step.price;
            if more < best.0 {
                best = (more, packs + 1);
            }
        }
        with.push(best);
        if best.0 < cost[units] {
            (cost[units], packs[units]) = best;
        }
    }
    (cost, packs)
}

fn with_at_most(old: &[f64], step: &Step, max: usize) -> (Vec<f64>, Vec<u32>) {
    let mut cost = old.to_vec();
    let mut packs = vec![0_u32; old.len()];
    for units in 0..old.len() {
        let enough = units.div_ceil(step.size).max(step.min);
        for take in step.min..=max.min(enough) {
            let with = old[units.saturating_sub(take * step.size)] + price_of(step, take);
            if with < cost[units] {
                (cost[units], packs[units]) = (with, count(take));
            }
        }
    }
    (cost, packs)
}
