//! Orders for work so large that weighing every number of pieces would take minutes: every part by
//! itself, to a chance that makes up the target with the others.

use super::goal::Table;
use super::{Goal, Market, OrderError, Plan, states};
use crate::job::{JobLine, joint_chance};
use crate::shared_factor::SharedFactor;

/// So many numbers of pieces of all parts together are weighed one by one, and so many at all points of
/// a factor; either takes less than a second.
const PIECES_WEIGHED: u64 = 10_000;
const POINTS_WEIGHED: u64 = 300_000;

/// How often the chance that every part is brought to is halved.
const HALVINGS: u32 = 24;

/// A chance of being short that hardly matters, of which the most pieces that matter follow.
const NEARLY_NONE: f64 = 1e-7;

/// No part is asked for in more pieces than this.
const PIECES_MAX: i64 = 1 << 40;

/// Whether the work is too large to weigh every number of pieces of every part.
pub(super) fn is_large(market: &Market, lines: &[JobLine], shared: SharedFactor) -> bool {
    let nodes = shared.nodes();
    let top = nodes.last().map_or(1.0, |node| node.factor);
    let rows = lines.iter().enumerate().map(|(part, line)| {
        let Some(unit) = Table::of(market, part).unit() else {
            return 1;
        };
        let most = line.predictive.stretched(top).quantile(1.0 - NEARLY_NONE);
        let available = u64::try_from(line.available).unwrap_or(0);
        most.saturating_sub(available) / u64::try_from(unit).unwrap_or(1).max(1)
    });
    let rows = rows.fold(0, u64::saturating_add);
    rows > PIECES_WEIGHED
        || (nodes.len() > 1 && rows.saturating_mul(nodes.len() as u64) > POINTS_WEIGHED)
}

/// An order that reaches the target, with what no order costs less than.
///
/// Every part that is offered is brought to one chance, the smallest with which the chance of the whole
/// reaches the target. And no order reaches the target unless each part reaches it by itself, so what
/// the cheapest that does this costs at the least, the one sought costs too.
///
/// # Errors
/// [`OrderError::Unreachable`] if parts that nobody offers keep the chance below the target.
pub(super) fn cheapest(
    market: &Market,
    lines: &[JobLine],
    shared: SharedFactor,
    target: f64,
) -> Result<Plan, OrderError> {
    let offered: Vec<bool> = (0..lines.len())
        .map(|part| Table::of(market, part).unit().is_some())
        .collect();
    let pieces_for = |chance: f64| -> Vec<i64> {
        let each = lines.iter().zip(&offered);
        each.map(|(line, offered)| {
            if *offered {
                short(line, shared, chance)
            } else {
                0
            }
        })
        .collect()
    };
    let joint = |pieces: &[i64]| {
        let with = lines.iter().zip(pieces).map(|(line, pieces)| JobLine {
            available: line.available.saturating_add(*pieces),
            ..*line
        });
        joint_chance(&with.collect::<Vec<_>>(), shared)
    };
    let (mut few, mut enough) = (target, 1.0 - NEARLY_NONE);
    let mut pieces = pieces_for(enough);
    if joint(&pieces) < target {
        return Err(OrderError::Unreachable);
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (few + enough);
        let tried = pieces_for(middle);
        if joint(&tried) >= target {
            (enough, pieces) = (middle, tried);
        } else {
            few = middle;
        }
    }
    let mut plan = buy(market, pieces)?;
    let at_least = buy(market, pieces_for(target))?.at_least_minor;
    plan.at_least_minor = at_least.min(plan.cost_minor);
    Ok(plan)
}

fn buy(market: &Market, pieces: Vec<i64>) -> Result<Plan, OrderError> {
    let goal = Goal::pieces(pieces).map_err(|_| OrderError::Unreachable)?;
    states::roughly(market, &goal.tables(market)?, goal.ln_target())
}

/// The fewest pieces more with which a part lasts with a chance, averaged over the factor.
fn short(line: &JobLine, shared: SharedFactor, chance: f64) -> i64 {
    let lasts = |pieces: i64| {
        let with = JobLine {
            available: line.available.saturating_add(pieces),
            ..*line
        };
        with.chance_over(shared) >= chance
    };
    if lasts(0) {
        return 0;
    }
    let (mut few, mut enough) = (0_i64, 1_i64);
    while !lasts(enough) && enough < PIECES_MAX {
        few = enough;
        enough *= 2;
    }
    while enough - few > 1 {
        let middle = few + (enough - few) / 2;
        if lasts(middle) {
            enough = middle;
        } else {
            few = middle;
        }
    }
    enough
}
