//! Reorder points and stocks by the service that they give.

use super::Demand;
use crate::special::real;

/// The reorder point by cycle service: the smallest r with P(demand over the lead time <= r) at or above
/// the target. Order when the inventory position is at or below it (Silver, Pyke and Thomas).
pub fn point_by_cycle(demand: &Demand, target: f64) -> u64 {
    demand.quantile(target)
}

/// The share of demand that is met from stock, with unit demands and backorders: the mean of
/// P(demand <= y - 1) over y from r + 1 to r + Q, the positions between orders. 0 for Q below 1.
pub fn fill_rate(demand: &Demand, r: i64, q: u32) -> f64 {
    if q == 0 {
        return 0.0;
    }
    let positions = (1..=i64::from(q)).map(|step| demand.cdf_at(r.saturating_add(step) - 1));
    positions.sum::<f64>() / f64::from(q)
}

/// The reorder point by fill rate: the smallest r whose [`fill_rate`] reaches the target; it may be below
/// 0. None for a target of 1 or more, which no stock reaches, or a Q below 1.
pub fn point_by_fill(demand: &Demand, q: u32, target: f64) -> Option<i64> {
    if q == 0 || target.is_nan() || target >= 1.0 {
        return None;
    }
    let mut high = i64::try_from(demand.quantile(target)).ok()?;
    let mut low = -i64::from(q) - 1;
    // At the quantile every position reaches the target; below -Q none is above 0.
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if fill_rate(demand, middle, q) >= target * (1.0 - 1e-14) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

/// E(demand - y)+, the pieces short on average with y there; y may be below 0.
pub fn expected_short(demand: &Demand, y: i64) -> f64 {
    // E(D - y)+ = E(D) - y + E(y - D)+, and the last is a finite sum.
    demand.mean() - signed(y) + expected_left(demand, y)
}

/// E(y - demand)+, the pieces left on average: the sum of P(demand <= k) for k from 0 to y - 1.
pub(super) fn expected_left(demand: &Demand, y: i64) -> f64 {
    let Ok(y) = u64::try_from(y) else { return 0.0 };
    let (mut sum, mut left) = (0.0, 0.0);
    for k in 0..y {
        sum += demand.pmf(k);
        left += sum;
    }
    left
}

pub(super) fn signed(y: i64) -> f64 {
    let size = real(y.unsigned_abs());
    if y < 0 { -size } else { size }
}

/// Stock for one period.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnePeriod {
    /// How many to have at its start.
    pub level: u64,
    /// What is left over and what is short cost on average.
    pub cost: f64,
    /// Pieces short on average.
    pub short: f64,
}

/// The stock for one period that costs least, if a piece left costs `left` and one short `short`: the
/// smallest y with P(demand <= y) >= short / (short + left) (Arrow, Harris and Marschak, *Econometrica*
/// 19, 1951). Both in money of one kind and above 0; else none.
pub fn one_period(demand: &Demand, left: f64, short: f64) -> Option<OnePeriod> {
    let ratio = short / (short + left);
    if !(left > 0.0 && short > 0.0 && ratio < 1.0) {
        return None;
    }
    let level = demand.quantile(ratio);
    let y = i64::try_from(level).ok()?;
    let pieces = expected_short(demand, y);
    Some(OnePeriod {
        level,
        cost: left * expected_left(demand, y) + short * pieces,
        short: pieces,
    })
}
