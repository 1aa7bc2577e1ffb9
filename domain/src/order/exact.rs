//! The search of one state of the suppliers to its end: dynamic programming, part by part, over the
//! choices that the bound leaves.

use super::choices::{Choice, Choices, of_part};
use super::multipliers::Dual;
use super::relaxed::{CHANCE_ALLOWANCE, Space, money};
use super::states::{Best, State, gap};

/// A whole search keeps up to this many partial orders.
const WIDTH: usize = 200_000;

/// So many times the width are made before the least promising are dropped unseen.
const MADE: usize = 8;

/// How far below a kept node others are looked for that beat it, where several sums count.
const COMPARED: usize = 400;

/// Without any order to beat, the search looks this far above the bound, further each time.
const FIRST_GAPS: [f64; 4] = [0.25, 1.0, 4.0, 16.0];

/// One thing that has to add up to a least sum.
#[derive(Clone, Copy)]
enum Sum {
    /// The logarithm of the chance.
    Chance,
    /// The goods at a supplier, by its place among those with a least sum.
    Goods(usize),
}

/// What has to add up, to how much, and what a unit of it is worth.
struct Sums {
    of: Vec<Sum>,
    least: Vec<f64>,
    worth: Vec<f64>,
}

impl Sums {
    fn value(&self, choice: &Choice, sum: usize) -> f64 {
        match self.of[sum] {
            Sum::Chance => choice.ln,
            Sum::Goods(place) => choice.goods[place],
        }
    }
}

/// A partial order.
#[derive(Debug, Clone)]
struct Node {
    cost: f64,
    excess: f64,
    sums: Vec<f64>,
    before: u32,
    choice: u32,
}

/// How thoroughly a state is searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Depth {
    /// Only so many partial orders and choices of a part as look best: for a good order to beat.
    Glance(usize),
    /// To the end, or until it grows too wide.
    Whole,
}

/// Searches a state; what is better than the best known takes its place. If a whole search does not
/// come to its end, the bound stays open.
pub(super) fn search(
    space: &Space<'_>,
    (state, dual): (&State, &Dual),
    depth: Depth,
    best: &mut Best,
) {
    if best.cost.is_none() {
        for part in FIRST_GAPS {
            let wide = part * dual.bound.abs() + 100.0;
            search_within(space, (state, dual), (depth, wide), best);
            if best.cost.is_some() {
                break;
            }
        }
    }
    let wide = gap(best, dual.bound);
    if wide.is_finite() {
        search_within(space, (state, dual), (depth, wide), best);
    }
}

fn search_within(
    space: &Space<'_>,
    (state, dual): (&State, &Dual),
    (depth, wide): (Depth, f64),
    best: &mut Best,
) {
    let suppliers = 0..state.used.len();
    let held: Vec<usize> = suppliers
        .filter(|it| state.used[*it] && state.least[*it] > 0)
        .collect();
    let spared = held
        .iter()
        .map(|it| money(state.least[*it]) * (1.0 - dual.scale[*it]));
    let rest = dual.worth * space.ln_target + money(state.fixed) + spared.sum::<f64>();
    let parts = space.parts.iter();
    let mut parts: Vec<Choices> = parts
        .map(|table| of_part(space, table, (state, dual), (&held, wide)))
        .collect();
    let bound = rest + parts.iter().map(|part| part.least).sum::<f64>();
    let gap = gap(best, bound).min(wide);
    if gap < 0.0 {
        return;
    }
    for part in &mut parts {
        part.ways.sort_by(|a, b| a.excess.total_cmp(&b.excess));
        if let Depth::Glance(width) = depth {
            part.ways.truncate(width);
        }
    }
    parts.sort_by_key(|part| part.ways.len());
    let pass = Pass {
        parts: &parts,
        sums: &sums(space, state, dual, &held),
        gap,
        width: match depth {
            Depth::Glance(width) => width,
            Depth::Whole => WIDTH,
        },
    };
    let is_done = pass.run(space, best) && parts.iter().all(|part| part.is_complete);
    if depth == Depth::Whole && !is_done {
        best.leave(bound);
    }
}

fn sums(space: &Space<'_>, state: &State, dual: &Dual, held: &[usize]) -> Sums {
    let mut sums = Sums {
        of: Vec::new(),
        least: Vec::new(),
        worth: Vec::new(),
    };
    let finite = |table: &super::goal::Table| table.ln.iter().filter(|ln| ln.is_finite()).count();
    if space.parts.iter().any(|table| finite(table) > 1) {
        sums.of.push(Sum::Chance);
        sums.least.push(space.ln_target - CHANCE_ALLOWANCE);
        sums.worth.push(dual.worth);
    }
    for (place, supplier) in held.iter().enumerate() {
        sums.of.push(Sum::Goods(place));
        sums.least.push(money(state.least[*supplier]));
        sums.worth.push(1.0 - dual.scale[*supplier]);
    }
    sums
}

struct Pass<'a> {
    parts: &'a [Choices],
    sums: &'a Sums,
    gap: f64,
    width: usize,
}

impl Pass<'_> {
    /// Goes through all parts; whether nothing was dropped for its width alone.
    fn run(&self, space: &Space<'_>, best: &mut Best) -> bool {
        let ends = self.ends();
        let mut is_whole = true;
        let mut layers: Vec<Vec<(u32, u32)>> = Vec::with_capacity(self.parts.len());
        let mut nodes = vec![Node {
            cost: 0.0,
            excess: 0.0,
            sums: vec![0.0; self.sums.of.len()],
            before: 0,
            choice: 0,
        }];
        for (part, (lowest, highest)) in self.parts.iter().zip(&ends) {
            let mut next = Vec::new();
            for (before, node) in (0_u32..).zip(&nodes) {
                for (choice, taken) in (0_u32..).zip(&part.ways) {
                    if node.excess + taken.excess > self.gap {
                        break;
                    }
                    if let Some(node) = self.with(node, taken, (before, choice), (lowest, highest))
                    {
                        next.push(node);
                    }
                }
            }
            // Weighing all against each other takes long; the wildest go first.
            is_whole &= narrow(&mut next, MADE * self.width);
            nodes = self.undominated(next);
            is_whole &= narrow(&mut nodes, self.width);
            layers.push(
                nodes
                    .iter()
                    .map(|node| (node.before, node.choice))
                    .collect(),
            );
        }
        let last = (0_u32..)
            .zip(&nodes)
            .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost));
        if let Some((place, _)) = last {
            best.note(space, self.packs(space, &layers, place));
        }
        is_whole
    }

    /// For each part, the least and the most that the parts after it add to each sum.
    fn ends(&self) -> Vec<(Vec<f64>, Vec<f64>)> {
        let count = self.sums.of.len();
        let mut ends = vec![(vec![0.0; count], vec![0.0; count])];
        for part in self.parts.iter().skip(1).rev() {
            let Some((lowest, highest)) = ends.last().cloned() else {
                break;
            };
            let value = |sum: usize| {
                part.ways
                    .iter()
                    .map(move |choice| self.sums.value(choice, sum))
            };
            let low = (0..count).map(|sum| lowest[sum] + value(sum).fold(f64::INFINITY, f64::min));
            let high =
                (0..count).map(|sum| highest[sum] + value(sum).fold(f64::NEG_INFINITY, f64::max));
            ends.push((low.collect(), high.collect()));
        }
        ends.reverse();
        ends
    }

    /// A node with one more choice, if it can still reach every sum and beat the best.
    fn with(
        &self,
        node: &Node,
        taken: &Choice,
        (before, choice): (u32, u32),
        (lowest, highest): (&[f64], &[f64]),
    ) -> Option<Node> {
        let excess = node.excess + taken.excess;
        // What is sure to come out above a least sum was worth nothing.
        let mut counted = excess;
        let mut sums = Vec::with_capacity(node.sums.len());
        for (sum, so_far) in node.sums.iter().enumerate() {
            let value = so_far + self.sums.value(taken, sum);
            let least = self.sums.least[sum];
            if value + highest[sum] < least {
                return None;
            }
            counted += self.sums.worth[sum] * (value + lowest[sum] - least).max(0.0);
            sums.push(value);
        }
        (counted <= self.gap).then_some(Node {
            cost: node.cost + taken.cost,
            excess,
            sums,
            before,
            choice,
        })
    }

    /// The nodes that no other beats in cost and in every sum, as far as a sum still matters.
    fn undominated(&self, mut nodes: Vec<Node>) -> Vec<Node> {
        let first = |node: &Node| self.enough(node, 0);
        nodes.sort_by(|a, b| {
            let more = || first(b).total_cmp(&first(a));
            a.cost.total_cmp(&b.cost).then_with(more)
        });
        let count = self.sums.of.len();
        let mut kept: Vec<Node> = Vec::new();
        let mut highest = f64::NEG_INFINITY;
        for node in nodes {
            let beats = |other: &Node| {
                (0..count).all(|sum| self.enough(other, sum) >= self.enough(&node, sum))
            };
            let is_beaten = match count {
                0 => !kept.is_empty(),
                1 => highest >= first(&node),
                _ => kept.iter().rev().take(COMPARED).any(beats),
            };
            if !is_beaten {
                highest = highest.max(first(&node));
                kept.push(node);
            }
        }
        kept
    }

    /// A sum of a node, as far as it counts: beyond its least, more goods are worth nothing.
    fn enough(&self, node: &Node, sum: usize) -> f64 {
        match self.sums.of.get(sum) {
            Some(Sum::Goods(_)) => node.sums[sum].min(self.sums.least[sum]),
            Some(Sum::Chance) => node.sums[sum],
            None => 0.0,
        }
    }

    fn packs(&self, space: &Space<'_>, layers: &[Vec<(u32, u32)>], place: u32) -> Vec<i64> {
        let index = |it: u32| usize::try_from(it).unwrap_or(usize::MAX);
        let mut packs = vec![0_i64; space.market.offers().len()];
        let mut place = index(place);
        for (part, layer) in self.parts.iter().zip(layers).rev() {
            let (before, choice) = layer[place];
            for (offer, count) in &part.ways[index(choice)].packs {
                packs[*offer] += i64::from(*count);
            }
            place = index(before);
        }
        packs
    }
}

/// Keeps the most promising; whether those were all.
fn narrow(nodes: &mut Vec<Node>, width: usize) -> bool {
    if nodes.len() <= width {
        return true;
    }
    nodes.sort_by(|a, b| a.excess.total_cmp(&b.excess));
    nodes.truncate(width);
    false
}
