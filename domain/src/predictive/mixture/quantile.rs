//! The search for quantiles of a mixture: a walk from zero that serves several chances at once, and
//! a bisection between the quantiles of the components where that would be long.

use super::{COUNT_MAX, Mixture, NegativeBinomial, count_at_or_below, real};

/// Rounding allowance, in units of the smaller tail; the same as for a single predictive.
const ALLOWANCE: f64 = 32.0 * f64::EPSILON;

/// The largest mean of a component for which walking from zero is the faster way.
const MEAN_MAX: f64 = 100.0;

pub(super) fn quantile(uses: &Mixture, p: f64) -> u64 {
    ends(p).unwrap_or_else(|| {
        if let Some(mut walk) = Walk::over(uses)
            && let Some(k) = walk.up_to(p)
        {
            return k;
        }
        bisect(uses, p)
    })
}

pub(super) fn quantiles(uses: &Mixture, chances: &[f64]) -> Vec<u64> {
    let mut order: Vec<usize> = (0..chances.len()).collect();
    order.sort_by(|a, b| chances[*a].total_cmp(&chances[*b]));
    let mut found = vec![0; chances.len()];
    let mut walk = Walk::over(uses);
    for index in order {
        let p = chances[index];
        found[index] = ends(p).unwrap_or_else(|| {
            let walked = walk.as_mut().and_then(|walk| walk.up_to(p));
            walked.unwrap_or_else(|| bisect(uses, p))
        });
    }
    found
}

/// The answer for what is no chance between 0 and 1.
fn ends(p: f64) -> Option<u64> {
    if p <= 0.0 {
        Some(0)
    } else if p.is_nan() || p >= 1.0 {
        Some(COUNT_MAX)
    } else {
        None
    }
}

/// Whether P(use <= k) is `p` or more, judged on the smaller tail.
fn reaches(uses: &Mixture, p: f64, k: u64) -> bool {
    if p <= 0.5 {
        uses.cdf(k) >= p * (1.0 - ALLOWANCE)
    } else {
        uses.sf(k) <= (1.0 - p) * (1.0 + ALLOWANCE)
    }
}

/// Probabilities added up from zero, all components a step at a time, by the recurrence
/// P(k+1) = P(k) q (a+k)/(k+1).
struct Walk<'a> {
    uses: &'a Mixture,
    /// Of each component: its weighted probability of `k`, its q, its size a.
    terms: Vec<(f64, f64, f64)>,
    k: u64,
    sum: f64,
    last: u64,
}

impl<'a> Walk<'a> {
    /// None where the walk would be long, or would start with a probability too small to hold.
    fn over(uses: &'a Mixture) -> Option<Self> {
        let mut spread = 0.0_f64;
        for (_, component) in uses.components() {
            if component.mean() > MEAN_MAX || component.ln_pmf(0) < -600.0 {
                return None;
            }
            spread = spread.max(component.mean() + 12.0 * component.variance().sqrt());
        }
        let term = |(weight, component): &(f64, NegativeBinomial)| {
            (
                weight * component.ln_pmf(0).exp(),
                component.q(),
                component.size,
            )
        };
        let terms: Vec<_> = uses.components().iter().map(term).collect();
        Some(Self {
            uses,
            sum: terms.iter().map(|(mass, ..)| mass).sum(),
            terms,
            k: 0,
            last: count_at_or_below(spread).clamp(32, 1_000),
        })
    }

    /// The quantile at `p`, which may not be below the one asked before; none if it is too far.
    fn up_to(&mut self, p: f64) -> Option<u64> {
        while self.k <= self.last {
            // The sum is good to about 1e-14; nearer than that to `p`, the exact tails decide.
            let over = self.sum - p;
            if over > 1e-12 || (over.abs() <= 1e-12 && reaches(self.uses, p, self.k)) {
                return Some(self.k);
            }
            self.step();
        }
        None
    }

    fn step(&mut self) {
        let k = real(self.k);
        for (mass, q, size) in &mut self.terms {
            *mass *= *q * ((*size + k) / (k + 1.0));
            self.sum += *mass;
        }
        self.k += 1;
    }
}

/// The quantile of a mixture lies between the least and the largest of its components' quantiles.
fn bisect(uses: &Mixture, p: f64) -> u64 {
    let each = || {
        uses.components()
            .iter()
            .map(|(_, component)| component.quantile(p))
    };
    let (mut low, mut high) = (each().min().unwrap_or(0), each().max().unwrap_or(0));
    while low < high {
        let middle = low + (high - low) / 2;
        if reaches(uses, p, middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    high
}
