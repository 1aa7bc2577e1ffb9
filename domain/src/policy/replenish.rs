//! Replenishment that costs least: a fixed quantity under continuous review, and up to a level under
//! periodic review.

use super::Demand;
use super::service::{expected_left, expected_short};

/// What stock costs, in money of one kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Costs {
    /// An order, whatever its size; 0 or more.
    pub order: f64,
    /// A piece held, per unit of time; above 0.
    pub hold: f64,
    /// A piece short, per unit of time; above 0.
    pub short: f64,
}

impl Costs {
    fn rate(&self, demand: &Demand, y: i64) -> f64 {
        self.hold * expected_left(demand, y) + self.short * expected_short(demand, y)
    }

    fn is_sound(&self) -> bool {
        self.order >= 0.0
            && self.hold > 0.0
            && self.short > 0.0
            && self.order + self.hold + self.short < 1e12
    }
}

/// An (r, Q) policy: at a position of r or below, Q more are ordered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lot {
    /// The reorder point r; it may be below 0.
    pub point: i64,
    /// The quantity Q.
    pub quantity: u32,
    /// What it costs per unit of time.
    pub cost: f64,
}

/// Quantities are looked for up to this one.
const QUANTITY_MAX: u32 = 100_000;

/// What an (r, Q) policy costs per unit of time: (K lambda + sum of g(y) for y from r + 1 to r + Q) / Q,
/// with g(y) = h E(y - D)+ + p E(D - y)+ over the demand D of a lead time, and `rate` the demand lambda
/// of a unit of time. For demand one by one, such as Poisson (Hadley and Whitin, *Analysis of Inventory
/// Systems*).
pub fn lot_cost(demand: &Demand, rate: f64, costs: &Costs, (r, q): (i64, u32)) -> f64 {
    let positions = (1..=i64::from(q)).map(|step| costs.rate(demand, r + step));
    (costs.order * rate + positions.sum::<f64>()) / f64::from(q)
}

/// The (r, Q) policy that costs least. None for costs or a rate that are not above 0.
///
/// The positions are taken into the window r + 1 to r + Q in the order of their cost, which falls and then
/// rises, until the next would cost more than the mean (Federgruen and Zheng, *Operations Research* 40,
/// 1992).
pub fn lot(demand: &Demand, rate: f64, costs: &Costs) -> Option<Lot> {
    if !(costs.is_sound() && rate > 0.0) {
        return None;
    }
    let best = bottom(demand, costs)?;
    let (mut low, mut high) = (best, best);
    let (mut left, mut right) = (costs.rate(demand, best - 1), costs.rate(demand, best + 1));
    let mut sum = costs.order * rate + costs.rate(demand, best);
    let mut quantity = 1_u32;
    while quantity < QUANTITY_MAX && left.min(right) < sum / f64::from(quantity) {
        sum += left.min(right);
        quantity += 1;
        if left < right {
            low -= 1;
            left = costs.rate(demand, low - 1);
        } else {
            high += 1;
            right = costs.rate(demand, high + 1);
        }
    }
    Some(Lot {
        point: low - 1,
        quantity,
        cost: sum / f64::from(quantity),
    })
}

/// The position at which stock and shortage cost least: the smallest y with P(demand <= y) at or above
/// p / (p + h).
fn bottom(demand: &Demand, costs: &Costs) -> Option<i64> {
    i64::try_from(demand.quantile(costs.short / (costs.short + costs.hold))).ok()
}

/// An (s, S) policy: at a position of s or below, up to S is ordered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UpTo {
    /// The reorder point s.
    pub point: i64,
    /// The level S.
    pub level: i64,
    /// What it costs a period.
    pub cost: f64,
}

/// The (s, S) policy that costs least, for periodic review, no lead time, and the demand of a period. None
/// for costs that are not above 0, or a demand that is never above 0.
///
/// c(s, S) = (K + sum of m(j) G(S - j)) / (sum of m(j)), j from 0 to S - s - 1, with the renewal mass
/// m(0) = 1/(1 - p0), m(j) = m(0) (sum of p(i) m(j - i), i from 1 to j). For each S, positions are added
/// while they cost less than the mean; S rises while its own cost is below the best (Zheng and
/// Federgruen, *Operations Research* 39, 1991).
pub fn up_to(demand: &Demand, costs: &Costs) -> Option<UpTo> {
    let none = demand.pmf(0);
    if !(costs.is_sound() && none < 1.0) {
        return None;
    }
    let bottom = bottom(demand, costs)?;
    let mut renewal = vec![1.0 / (1.0 - none)];
    let mut best: Option<UpTo> = None;
    for level in bottom.. {
        let own = costs.rate(demand, level);
        if best.is_some_and(|best| own > best.cost) {
            break;
        }
        let (mut sum, mut mass) = (costs.order, 0.0);
        let mut depth = 0;
        loop {
            let position = level - i64::try_from(depth).ok()?;
            let cost = costs.rate(demand, position);
            if depth > 0 && cost >= sum / mass {
                break;
            }
            extend(&mut renewal, demand, depth);
            sum += renewal[depth] * cost;
            mass += renewal[depth];
            depth += 1;
        }
        let found = UpTo {
            point: level - i64::try_from(depth).ok()?,
            level,
            cost: sum / mass,
        };
        if best.is_none_or(|best| found.cost < best.cost) {
            best = Some(found);
        }
    }
    best
}

/// The renewal mass up to a depth.
fn extend(renewal: &mut Vec<f64>, demand: &Demand, depth: usize) {
    while renewal.len() <= depth {
        let j = renewal.len();
        let terms = (1_u64..).zip(renewal.iter().rev()).take(j);
        let sum: f64 = terms.map(|(i, mass)| demand.pmf(i) * mass).sum();
        renewal.push(renewal[0] * sum);
    }
}
