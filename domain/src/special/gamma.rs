//! The regularised incomplete gamma function and its inverse, for the quantiles of a wear rate and the
//! lives of parts that wear out.

use std::f64::consts::PI;

use super::{ROUNDS_MAX, deviance, normal_quantile_start, stirling_error};

/// The natural logarithms of P(a, x) and Q(a, x) and of the front factor x^a e^-x / G(a+1), at
/// x = e^y.
#[derive(Debug, Clone, Copy)]
#[expect(
    clippy::struct_field_names,
    reason = "all three are logarithms, and it must show"
)]
struct Tails {
    ln_p: f64,
    ln_q: f64,
    ln_front: f64,
}

/// Both tails at x = e^y for a shape a > 0.
///
/// Series DLMF 8.11.4 below a + 1, continued fraction DLMF 8.9.2 by the modified Lentz method
/// above. The front factor is in Loader's saddle-point form.
fn tails(a: f64, y: f64) -> Tails {
    let x = y.exp();
    if x < 1e-20 * a.min(1.0) {
        // Here e^-x and the series are 1 to the last place, and x itself may underflow.
        let ln_p = a * y - libm::lgamma(a + 1.0);
        return Tails {
            ln_p,
            ln_q: (-ln_p.exp()).ln_1p(),
            ln_front: ln_p,
        };
    }
    let ln_front = -stirling_error(a) - deviance(a, x, a - x) - 0.5 * (2.0 * PI * a).ln();
    if x < a + 1.0 {
        let mut term = 1.0;
        let mut sum = 1.0;
        for round in 1..ROUNDS_MAX {
            term *= x / (a + f64::from(round));
            sum += term;
            if term < f64::EPSILON * 0.25 * sum {
                break;
            }
        }
        let ln_p = (ln_front + sum.ln()).min(0.0);
        Tails {
            ln_p,
            ln_q: (-ln_p.exp_m1()).max(f64::MIN_POSITIVE).ln(),
            ln_front,
        }
    } else {
        let ln_q = (ln_front + a.ln() + upper_fraction(a, x).ln()).min(0.0);
        Tails {
            ln_p: (-ln_q.exp_m1()).max(f64::MIN_POSITIVE).ln(),
            ln_q,
            ln_front,
        }
    }
}

/// The fraction in Q(a, x) = x^a e^-x / G(a) * fraction, for x >= a + 1.
#[expect(
    clippy::many_single_char_names,
    reason = "the letters are those of the formula"
)]
fn upper_fraction(a: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / b;
    let mut value = d;
    for round in 1..ROUNDS_MAX {
        let i = f64::from(round);
        let numerator = -i * (i - a);
        b += 2.0;
        let under = numerator * d + b;
        d = 1.0 / if under.abs() < TINY { TINY } else { under };
        c = b + numerator / c;
        if c.abs() < TINY {
            c = TINY;
        }
        let step = d * c;
        value *= step;
        if (step - 1.0).abs() < 4.0 * f64::EPSILON {
            break;
        }
    }
    value
}

/// P(a, x), the chance that a gamma variable of shape a > 0 and rate 1 is at most x >= 0.
pub(crate) fn lower(a: f64, x: f64) -> f64 {
    if x > 0.0 {
        tails(a, x.ln()).ln_p.exp()
    } else {
        0.0
    }
}

/// Q(a, x) = 1 - P(a, x), accurate when it is tiny.
pub(crate) fn upper(a: f64, x: f64) -> f64 {
    if x > 0.0 {
        tails(a, x.ln()).ln_q.exp()
    } else {
        1.0
    }
}

/// The x with P(a, x) = p, for a > 0 and 0 < p < 1: the quantile of a gamma distribution of rate
/// one. It underflows to 0 where the true value is below the smallest number.
///
/// Newton's method on the logarithm of the smaller tail against ln x, kept inside a bracket. The
/// lower end of the bracket is sure: P(a, x) <= x^a / G(a+1).
pub(crate) fn quantile(a: f64, p: f64) -> f64 {
    let (ln_p, ln_q) = (p.ln(), (-p).ln_1p());
    let by_lower = p <= 0.5;
    // Rises with y, with its slope.
    let miss = |y: f64| {
        let t = tails(a, y);
        let density = (t.ln_front + a.ln()).min(700.0);
        if by_lower {
            (t.ln_p - ln_p, (density - t.ln_p).exp())
        } else {
            (ln_q - t.ln_q, (density - t.ln_q).exp())
        }
    };
    let mut low = (ln_p + libm::lgamma(a + 1.0)) / a;
    let mut high = (a + 1.0).ln().max(low) + 1.0;
    while miss(high).0 < 0.0 && high < 700.0 {
        high += 1.0;
    }
    let mut y = start(a, p).unwrap_or(low).clamp(low, high);
    for _ in 0..200 {
        let (gap, slope) = miss(y);
        if gap < 0.0 {
            low = y;
        } else {
            high = y;
        }
        let newton = y - gap / slope;
        let next = if newton > low && newton < high {
            newton
        } else {
            0.5 * (low + high)
        };
        let moved = (next - y).abs();
        y = next;
        if moved <= 1e-15 * y.abs().max(1.0) || high - low <= 1e-15 * y.abs().max(1.0) {
            break;
        }
    }
    y.exp()
}

/// The logarithm of the Wilson-Hilferty approximation, where it is of use.
fn start(a: f64, p: f64) -> Option<f64> {
    let z = normal_quantile_start(p);
    let root = 1.0 - 1.0 / (9.0 * a) + z / (3.0 * a.sqrt());
    (root > 0.1).then(|| a.ln() + 3.0 * root.ln())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_shape_is_a_sum_of_poisson_chances() {
        // Q(4, x) = e^-x (1 + x + x^2/2 + x^3/6).
        for x in [1e-3_f64, 0.5, 4.0, 5.0, 30.0] {
            let expected = (-x).exp() * (1.0 + x + x * x / 2.0 + x.powi(3) / 6.0);
            assert!((upper(4.0, x) / expected - 1.0).abs() < 1e-12, "{x}");
            assert!((lower(4.0, x) - (1.0 - expected)).abs() < 1e-13, "{x}");
        }
        assert_eq!(
            (lower(2.0, 0.0).to_bits(), upper(2.0, 0.0).to_bits()),
            (0, 1.0_f64.to_bits())
        );
    }
}
