//! The search for a quantile: a walk from zero where few are used, a bracket around a
//! Cornish-Fisher start where many are. The distribution itself is in the parent.

use super::NegativeBinomial;
use crate::special::{COUNT_MAX, count_at_or_below, normal_quantile_start, real};

/// Rounding allowance, in units of the smaller tail.
const ALLOWANCE: f64 = 32.0 * f64::EPSILON;

/// A walk longer than this is slower than a search.
const STEPS_MAX: u64 = 192;

pub(super) fn quantile(uses: &NegativeBinomial, p: f64) -> u64 {
    if p <= 0.0 {
        return 0;
    }
    if p.is_nan() || p >= 1.0 {
        return COUNT_MAX;
    }
    if uses.exposure <= 0.0 {
        return 0;
    }
    match walk(uses, p) {
        Walk::Found(k) => k,
        Walk::TooFar(k) => search(uses, p, k),
    }
}

enum Walk {
    Found(u64),
    /// The quantile is at this count or beyond.
    TooFar(u64),
}

/// Adds up probabilities from zero by the recurrence P(k+1) = P(k) q (a+k)/(k+1).
fn walk(uses: &NegativeBinomial, p: f64) -> Walk {
    let ln_zero = uses.ln_pmf(0);
    if ln_zero < -600.0 || uses.mean() > 100.0 {
        return Walk::TooFar(0);
    }
    let q = uses.q();
    let mut mass = ln_zero.exp();
    let mut sum = mass;
    for k in 0..STEPS_MAX {
        // The sum is good to about 1e-14; nearer than that to `p`, the exact tails decide.
        if sum - p > 1e-12 || ((sum - p).abs() <= 1e-12 && reaches(uses, p, k)) {
            return Walk::Found(k);
        }
        let count = real(k);
        mass *= q * ((uses.size + count) / (count + 1.0));
        sum += mass;
    }
    Walk::TooFar(STEPS_MAX)
}

/// Whether P(use <= k) is `p` or more, judged on the smaller tail.
fn reaches(uses: &NegativeBinomial, p: f64, k: u64) -> bool {
    if p <= 0.5 {
        uses.cdf(k) >= p * (1.0 - ALLOWANCE)
    } else {
        uses.sf(k) <= (1.0 - p) * (1.0 + ALLOWANCE)
    }
}

/// Brackets the quantile at or above `floor` by growing steps, then halves the bracket.
fn search(uses: &NegativeBinomial, p: f64, floor: u64) -> u64 {
    let start = start(uses, p).clamp(floor, COUNT_MAX);
    let mut step = count_at_or_below(uses.variance().sqrt() / 64.0).max(1);
    let (mut below, mut reached);
    if reaches(uses, p, start) {
        reached = start;
        loop {
            if reached <= floor {
                return floor;
            }
            let lower = reached.saturating_sub(step).max(floor);
            if !reaches(uses, p, lower) {
                below = lower;
                break;
            }
            (reached, step) = (lower, step.saturating_mul(2));
        }
    } else {
        below = start;
        loop {
            if below >= COUNT_MAX {
                return COUNT_MAX;
            }
            let upper = below.saturating_add(step).min(COUNT_MAX);
            if reaches(uses, p, upper) {
                reached = upper;
                break;
            }
            (below, step) = (upper, step.saturating_mul(2));
        }
    }
    while reached - below > 1 {
        let middle = below + (reached - below) / 2;
        if reaches(uses, p, middle) {
            reached = middle;
        } else {
            below = middle;
        }
    }
    reached
}

/// The Cornish-Fisher approximation of the second order (Johnson, Kemp and Kotz); only a start.
fn start(uses: &NegativeBinomial, p: f64) -> u64 {
    let z = normal_quantile_start(p);
    let deviation = uses.variance().sqrt();
    let skewness = (1.0 + uses.q()) / (uses.size * uses.q()).sqrt();
    let correction = skewness * (z * z - 1.0) / 6.0;
    count_at_or_below(uses.mean() + deviation * (z + correction.clamp(-1.0, 4.0)))
}
