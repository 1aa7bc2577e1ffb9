//! The count of 40 kinds of kit from 200 shared parts. The baseline is the linear optimum of the same
//! programme by the same solver, in which kits may be fractions: a bound that is never below the count.
//! The ratio is the time of the baseline over that of the count, and so says what whole numbers cost.

use std::time::Instant;

use domain::kit::count::{Kind, Slot, together};
use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

use crate::{ROUNDS, explain, median};

const PARTS: u64 = 200;
const KINDS: u64 = 40;
const SLOTS: u64 = 7;
/// How many stocks are counted.
const STOCKS: u64 = 20;

/// The ratio.
pub(crate) fn ratio() -> Result<f64, String> {
    let (mut linear, mut ours) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let (mut bounds, mut counts) = (Vec::new(), Vec::new());
        let begin = Instant::now();
        for seed in 0..STOCKS {
            let (stock, kinds) = shop(seed);
            bounds.push(bound(&stock, &kinds)?);
        }
        linear.push(begin.elapsed().as_secs_f64() / real(STOCKS));
        let begin = Instant::now();
        for seed in 0..STOCKS {
            let (stock, kinds) = shop(seed);
            let counted = together(&stock, &kinds).map_err(|error| error.to_string())?;
            if !counted.is_proven {
                return Err("a count was not proven in time".to_owned());
            }
            counts.push(counted.kits.iter().sum::<i64>());
        }
        ours.push(begin.elapsed().as_secs_f64() / real(STOCKS));
        agree(&bounds, &counts)?;
    }
    let (linear, ours) = (median(linear), median(ours));
    explain(&format!(
        "kit counts: linear optimum {:.2} ms, count {:.2} ms",
        linear * 1e3,
        ours * 1e3
    ))?;
    Ok(linear / ours)
}

/// No count is above its bound, and none a whole kit of each kind below.
fn agree(bounds: &[f64], counts: &[i64]) -> Result<(), String> {
    for (bound, count) in bounds.iter().zip(counts) {
        #[expect(clippy::cast_precision_loss, reason = "a few hundred kits")]
        let count = *count as f64;
        if count > bound + 1e-6 || count < bound - real(KINDS) {
            return Err(format!("{count} kits, where at most {bound} can be made"));
        }
    }
    Ok(())
}

/// A stock and kinds of kit that share it; invented, and the same for the same seed.
fn shop(seed: u64) -> (Vec<i64>, Vec<Kind>) {
    let mut draw = Draws(seed + 1);
    let stock = (0..PARTS).map(|_| whole(draw.below(30))).collect();
    let kinds = (0..KINDS).map(|_| {
        let slots = (0..SLOTS).map(|_| {
            let quantity = 1 + whole(draw.below(4)) / 3;
            let count = 1 + draw.below(3);
            let mut alternatives: Vec<usize> = (0..count).map(|_| draw.index(PARTS)).collect();
            alternatives.sort_unstable();
            alternatives.dedup();
            Slot {
                quantity,
                alternatives,
            }
        });
        let ways = vec![slots.collect()];
        Kind {
            ways,
            wanted: Some(1 + whole(draw.below(8))),
        }
    });
    (stock, kinds.collect())
}

/// The greatest number of kits if they could be fractions.
fn bound(stock: &[i64], kinds: &[Kind]) -> Result<f64, String> {
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let mut parts: Vec<Vec<(Variable, f64)>> = vec![Vec::new(); stock.len()];
    for kind in kinds {
        let wanted = kind.wanted.unwrap_or(0);
        let kit = problem.add_var(1.0, (0.0, amount(wanted)));
        for slot in &kind.ways[0] {
            let mut filled = vec![(kit, -amount(slot.quantity))];
            for part in &slot.alternatives {
                let flow = problem.add_var(0.0, (0.0, f64::INFINITY));
                filled.push((flow, 1.0));
                parts[*part].push((flow, 1.0));
            }
            problem.add_constraint(&filled, ComparisonOp::Eq, 0.0);
        }
    }
    for (row, pieces) in parts.iter().zip(stock) {
        problem.add_constraint(row, ComparisonOp::Le, amount(*pieces));
    }
    let solved = problem.solve().map_err(|error| error.to_string())?;
    let solution = solved
        .into_solution()
        .map_err(|_| "it took too long".to_owned())?;
    Ok(solution.objective())
}

/// Draws that are the same in each run: the linear congruential generator of Knuth's MMIX (*The Art of
/// Computer Programming*, vol. 2, 3.3.4, from memory).
struct Draws(u64);

impl Draws {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % bound
    }

    fn index(&mut self, bound: u64) -> usize {
        usize::try_from(self.below(bound)).unwrap_or(0)
    }
}

fn whole(small: u64) -> i64 {
    i64::try_from(small).unwrap_or(0)
}

#[expect(clippy::cast_precision_loss, reason = "a few dozen")]
fn real(small: u64) -> f64 {
    small as f64
}

#[expect(clippy::cast_precision_loss, reason = "a few dozen")]
fn amount(small: i64) -> f64 {
    small as f64
}
