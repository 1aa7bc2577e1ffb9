//! A sum that no order of the target chance is below, where the parts share a factor.

use super::{ALLOWANCE, Chances, Part};

/// At how many points of the factor a bound is looked for.
const TRIED: usize = 12;

/// The largest of the bounds at several points of the factor, in minor units.
///
/// At a point c let x be the logarithm of the product of the chances there. At any other point j the
/// logarithm is at most k x, with k the least ratio of the logarithms of a part at j and at c, over
/// all parts and all rows that an order of the target chance can have. So the chance of the whole is
/// at most the mean of exp(k x) over the points, which rises with x, and the target asks for an x at
/// least. That goal is a product, and the cheapest order for it costs no more than the one sought.
pub(super) fn at_least(chances: &Chances<'_>) -> i64 {
    let lowest: Vec<usize> = chances
        .parts
        .iter()
        .map(|part| lowest(chances, part))
        .collect();
    let mut bound = 0;
    for point in points(chances) {
        let Some(ln_target) = needed(chances, &lowest, point) else {
            continue;
        };
        let of = |part: &Part, row: usize| optimistic(part, row, point);
        if let Ok(plan) = chances.solve(of, ln_target) {
            bound = bound.max(plan.at_least_minor);
        }
    }
    bound
}

/// The first row at which the mean of a part alone reaches the target; the whole cannot with less.
fn lowest(chances: &Chances<'_>, part: &Part) -> usize {
    let reaches =
        |row: &usize| part.mean(&chances.nodes, *row) >= chances.target * (1.0 - ALLOWANCE);
    (0..part.ln.len())
        .find(reaches)
        .unwrap_or(part.ln.len() - 1)
}

/// Points to try, spread evenly over the chance that the factor is below them.
fn points(chances: &Chances<'_>) -> Vec<usize> {
    let mut below = 0.0;
    let mut points: Vec<usize> = Vec::new();
    let share = 1.0 / crate::special::real(TRIED as u64);
    for (point, node) in chances.nodes.iter().enumerate() {
        below += node.weight;
        let due = share * crate::special::real(points.len() as u64 + 1);
        if below >= due && points.len() + 1 < TRIED {
            points.push(point);
        }
    }
    points
}

/// The logarithm of the chance at a row; the last row stands for all beyond it, so for certainty.
fn optimistic(part: &Part, row: usize, point: usize) -> f64 {
    let is_last = row + 1 == part.ln.len() && part.table.unit().is_some();
    if is_last { 0.0 } else { part.ln[row][point] }
}

/// What the logarithm of the product at a point has to be at the least.
fn needed(chances: &Chances<'_>, lowest: &[usize], point: usize) -> Option<f64> {
    let ratios: Vec<f64> = (0..chances.nodes.len())
        .map(|other| ratio(chances, lowest, (point, other)))
        .collect();
    let joint = |x: f64| -> f64 {
        let each = chances.nodes.iter().zip(&ratios);
        each.map(|(node, ratio)| node.weight * (ratio * x).exp())
            .sum()
    };
    // The target with a little less, so that rounding never makes the bound too high.
    let target = chances.target * (1.0 - 2.0 * ALLOWANCE);
    let (mut low, mut high) = (-700.0, 0.0);
    if joint(low) >= target {
        return None;
    }
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if joint(middle) >= target {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(low)
}

/// The least ratio of the logarithms of any part at another point and at this one.
fn ratio(chances: &Chances<'_>, lowest: &[usize], (point, other): (usize, usize)) -> f64 {
    if point == other {
        return 1.0;
    }
    let parts = chances.parts.iter().zip(lowest);
    let ratios = parts.flat_map(|(part, lowest)| {
        let rows = part.ln[*lowest..].iter();
        rows.filter(|row| row[point] < 0.0)
            .map(|row| row[other] / row[point])
    });
    let least = ratios.fold(f64::INFINITY, f64::min);
    // Beyond the last row nothing is known but the direction.
    if !least.is_finite() {
        0.0
    } else if other > point {
        least.max(0.0)
    } else {
        0.0
    }
}
