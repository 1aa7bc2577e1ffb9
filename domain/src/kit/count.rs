//! How many complete kits stock can make, when kits share parts and a slot has alternatives: an integer
//! programme, solved exactly. What a kit holds, and what there is, is passed in.
//!
//! With `n` kits of each way to put one together, and `x` pieces of a part that go into a slot:
//!
//! - each slot is filled: the sum of `x` over its alternatives = its quantity times `n`;
//! - no piece is used twice: the sum of `x` over the slots that take a part <= its stock.
//!
//! For given `n` this is a transportation problem, whose solutions are whole numbers of themselves
//! (Hoffman and Kruskal 1956), so only the `n` have to be asked for as whole numbers; with one kind of
//! kit that goes together in one way the greatest `n` is the whole part of the linear optimum.

use std::time::Duration;

use microlp::{
    ComparisonOp, OptimizationDirection, Problem, Solution, SolutionStatus, SolveOutcome, Variable,
};
use thiserror::Error;

#[cfg(test)]
mod tests;

/// A slot of a kit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slot {
    /// How many pieces one kit has in it; at least 1.
    pub quantity: i64,
    /// The parts that will do, as indices into the stock; pieces of several may be mixed.
    pub alternatives: Vec<usize>,
}

/// One kind of kit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kind {
    /// The ways in which it goes together, each a list of slots; mostly one.
    pub ways: Vec<Vec<Slot>>,
    /// How many are wanted; as many as possible if that is none.
    pub wanted: Option<i64>,
}

/// Why kits cannot be counted.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CountError {
    /// A kind of kit without slots or ways: any number of them could be made, or none ever.
    #[error("a kit without slots cannot be counted")]
    NoSlots,
    /// A slot without a part that will do, or of no pieces.
    #[error("a slot of a kit is empty")]
    EmptySlot,
    /// The solver gave up.
    #[error("the count was not found: {0}")]
    Solver(String),
}

/// Numbers of kits of each kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counts {
    /// How many of each kind, in the order given.
    pub kits: Vec<i64>,
    /// Whether it is proven that no more can be made; otherwise the search was stopped after
    /// [`LIMIT`], and more may be possible.
    pub is_proven: bool,
}

/// How long one search may take before the best that was found is given.
pub const LIMIT: Duration = Duration::from_secs(5);

/// Far more pieces than any drawer holds: keeps the figures of the programme within the range in
/// which floating point is exact enough to tell whole numbers.
const MOST: i64 = 1_000_000;

/// How far a number of the solver may be from a whole one.
const NEARLY: f64 = 1e-6;

/// How many of one kind stock makes, if nothing else is made of it; what is wanted is no limit.
///
/// # Errors
/// [`CountError`]: a kit or a slot that is empty, or a fault of the solver.
pub fn alone(stock: &[i64], kind: &Kind) -> Result<i64, CountError> {
    let kinds = [Kind {
        wanted: None,
        ..kind.clone()
    }];
    let bounds = [(0, bound(stock, &kinds[0])?)];
    let (counts, _) = Programme::new(stock, &kinds).solve(&Goal::Most(&bounds, Whole::Relaxed))?;
    Ok(counts.kits[0])
}

/// The greatest number of kits in all, of each kind at most as many as are wanted.
///
/// How the total is shared out among the kinds is not unique.
///
/// # Errors
/// As [`alone`].
pub fn together(stock: &[i64], kinds: &[Kind]) -> Result<Counts, CountError> {
    let bounds: Result<Vec<_>, _> = kinds
        .iter()
        .map(|kind| Ok((0, bound(stock, kind)?)))
        .collect();
    let goal = Goal::Most(&bounds?, Whole::Asked);
    Ok(Programme::new(stock, kinds).solve(&goal)?.0)
}

/// As many as possible of the first kind, then of the second with what is left, and so on; of each at
/// most as many as are wanted.
///
/// # Errors
/// As [`alone`].
pub fn in_order(stock: &[i64], kinds: &[Kind]) -> Result<Vec<i64>, CountError> {
    // The kinds before are given; what one more kind makes beside them is a linear optimum.
    let mut bounds: Vec<(i64, i64)> = Vec::with_capacity(kinds.len());
    for (index, kind) in kinds.iter().enumerate() {
        bounds.push((0, bound(stock, kind)?));
        let programme = Programme::new(stock, &kinds[..=index]);
        let (counts, _) = programme.solve(&Goal::Most(&bounds, Whole::Relaxed))?;
        let made = counts.kits[index];
        bounds[index] = (made, made);
    }
    Ok(bounds.into_iter().map(|(made, _)| made).collect())
}

/// The fewest pieces that would have to be added, part by part, to make so many of each kind.
///
/// Which parts they are is not unique where a slot has alternatives; how many in all is.
///
/// # Errors
/// As [`alone`].
pub fn fewest_more(
    stock: &[i64],
    kinds: &[Kind],
    counts: &[i64],
) -> Result<Vec<(usize, i64)>, CountError> {
    for kind in kinds {
        check(kind)?;
    }
    let bounds: Vec<_> = counts.iter().map(|count| (*count, *count)).collect();
    let (_, more) = Programme::new(stock, kinds).solve(&Goal::FewestMore(&bounds))?;
    Ok(more)
}

fn check(kind: &Kind) -> Result<(), CountError> {
    let is_empty = |slot: &Slot| slot.alternatives.is_empty() || slot.quantity < 1;
    if kind.ways.is_empty() || kind.ways.iter().any(Vec::is_empty) {
        Err(CountError::NoSlots)
    } else if kind.ways.iter().flatten().any(is_empty) {
        Err(CountError::EmptySlot)
    } else {
        Ok(())
    }
}

/// A number of kits that is never exceeded: what is wanted, and what each slot alone could be filled.
fn bound(stock: &[i64], kind: &Kind) -> Result<i64, CountError> {
    check(kind)?;
    let filled = |slot: &Slot| {
        let parts = slot.alternatives.iter();
        parts.map(|part| pieces(stock, *part)).sum::<i64>() / slot.quantity
    };
    let most = |way: &Vec<Slot>| way.iter().map(filled).min().unwrap_or(0);
    let most = kind.ways.iter().map(most).sum();
    Ok(kind.wanted.map_or(most, |wanted| wanted.clamp(0, most)))
}

/// The pieces of a part that count: a book below zero holds none.
fn pieces(stock: &[i64], part: usize) -> i64 {
    stock.get(part).map_or(0, |pieces| (*pieces).clamp(0, MOST))
}

/// Whether the numbers of kits are asked for as whole numbers.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Whole {
    Asked,
    /// The last kind may be a fraction, whose whole part is the answer; those before are fixed.
    Relaxed,
}

/// What is looked for, with the least and the greatest number of each kind.
enum Goal<'g> {
    Most(&'g [(i64, i64)], Whole),
    FewestMore(&'g [(i64, i64)]),
}

/// Stock and kits, from which the programme is built.
struct Programme<'p> {
    stock: &'p [i64],
    kinds: &'p [Kind],
}

/// The terms of one row.
type Row = Vec<(Variable, f64)>;

impl<'p> Programme<'p> {
    fn new(stock: &'p [i64], kinds: &'p [Kind]) -> Self {
        Self { stock, kinds }
    }

    fn solve(&self, goal: &Goal<'_>) -> Result<(Counts, Vec<(usize, i64)>), CountError> {
        let (direction, bounds) = match goal {
            Goal::Most(bounds, _) => (OptimizationDirection::Maximize, bounds),
            Goal::FewestMore(bounds) => (OptimizationDirection::Minimize, bounds),
        };
        let mut problem = Problem::new(direction);
        problem.set_time_limit(LIMIT);
        let kits = self.add_kits(&mut problem, goal, bounds);
        let parts = self.fill_slots(&mut problem, &kits);
        let mut more = Vec::new();
        for (part, mut row) in parts.into_iter().enumerate() {
            if row.is_empty() {
                continue;
            }
            if matches!(goal, Goal::FewestMore(_)) {
                let added = problem.add_var(1.0, (0.0, f64::INFINITY));
                row.push((added, -1.0));
                more.push((part, added));
            }
            problem.add_constraint(&row, ComparisonOp::Le, real(pieces(self.stock, part)));
        }
        let solution = solved(&problem)?;
        let made = |ways: &Vec<Variable>| ways.iter().map(|way| solution.var_value(*way)).sum();
        let counts = Counts {
            kits: kits.iter().map(made).map(floor).collect(),
            is_proven: solution.status() == SolutionStatus::Optimal,
        };
        let more = more.into_iter();
        let more = more.map(|(part, added)| (part, floor(solution.var_value(added))));
        Ok((counts, more.filter(|(_, pieces)| *pieces > 0).collect()))
    }

    /// One variable a way of each kind: how many kits are made so.
    fn add_kits(
        &self,
        problem: &mut Problem,
        goal: &Goal<'_>,
        bounds: &[(i64, i64)],
    ) -> Vec<Vec<Variable>> {
        let last = bounds.len().saturating_sub(1);
        let several_ways = self.kinds.iter().any(|kind| kind.ways.len() > 1);
        let asked = several_ways || matches!(goal, Goal::Most(_, Whole::Asked));
        let mut kits = Vec::with_capacity(bounds.len());
        for (index, (kind, (least, most))) in self.kinds.iter().zip(bounds).enumerate() {
            let weight = match goal {
                Goal::Most(_, Whole::Asked) => 1.0,
                Goal::Most(_, Whole::Relaxed) if index == last => 1.0,
                Goal::Most(_, Whole::Relaxed) | Goal::FewestMore(_) => 0.0,
            };
            let mut add = |least: i64| {
                if asked {
                    problem.add_integer_var(weight, (small(least), small(*most)))
                } else {
                    problem.add_var(weight, (real(least), real(*most)))
                }
            };
            if kind.ways.len() == 1 {
                kits.push(vec![add(*least)]);
                continue;
            }
            let ways: Vec<Variable> = kind.ways.iter().map(|_| add(0)).collect();
            let sum: Row = ways.iter().map(|way| (*way, 1.0)).collect();
            problem.add_constraint(&sum, ComparisonOp::Ge, real(*least));
            problem.add_constraint(&sum, ComparisonOp::Le, real(*most));
            kits.push(ways);
        }
        kits
    }

    /// One row a part: what all slots take of it. A slot of one part takes it directly; one of
    /// several has a variable for each.
    fn fill_slots(&self, problem: &mut Problem, kits: &[Vec<Variable>]) -> Vec<Row> {
        let mut parts: Vec<Row> = vec![Row::new(); self.stock.len()];
        let ways = self.kinds.iter().flat_map(|kind| &kind.ways);
        let slots = ways.zip(kits.iter().flatten());
        for (slot, kit) in slots.flat_map(|(way, kit)| way.iter().map(move |slot| (slot, *kit))) {
            let quantity = real(slot.quantity);
            if let [only] = slot.alternatives[..] {
                add(&mut parts[only], kit, quantity);
                continue;
            }
            let mut filled: Row = vec![(kit, -quantity)];
            for part in &slot.alternatives {
                let flow = problem.add_var(0.0, (0.0, f64::INFINITY));
                filled.push((flow, 1.0));
                parts[*part].push((flow, 1.0));
            }
            problem.add_constraint(&filled, ComparisonOp::Eq, 0.0);
        }
        parts
    }
}

/// Adds a term; two slots of one kit that take the same part are one term.
fn add(row: &mut Row, variable: Variable, coefficient: f64) {
    match row.iter_mut().find(|(other, _)| *other == variable) {
        Some((_, sum)) => *sum += coefficient,
        None => row.push((variable, coefficient)),
    }
}

fn solved(problem: &Problem) -> Result<Solution, CountError> {
    match problem.solve() {
        Ok(SolveOutcome::Solution(solution)) => Ok(solution),
        Ok(SolveOutcome::Interrupted(_)) => Err(CountError::Solver("it took too long".to_owned())),
        Err(error) => Err(CountError::Solver(error.to_string())),
    }
}

#[expect(
    clippy::cast_precision_loss,
    reason = "at most a million times a quantity of a kit"
)]
fn real(whole: i64) -> f64 {
    whole as f64
}

fn small(whole: i64) -> i32 {
    i32::try_from(whole).unwrap_or(i32::MAX)
}

/// The whole part of a figure that the solver may have missed by a hair.
#[expect(
    clippy::cast_possible_truncation,
    reason = "at most a million times a quantity of a kit"
)]
fn floor(figure: f64) -> i64 {
    (figure + NEARLY).floor() as i64
}
