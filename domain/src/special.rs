//! Special functions, just those the predictive distributions need, and the two conversions
//! between counts and floating point. Nothing here knows of parts or stock.

use std::f64::consts::PI;

pub(crate) mod beta;
pub(crate) mod gamma;
pub(crate) mod quadrature;

/// The largest count that floating point holds exactly, 2^53; quantiles end here.
pub(crate) const COUNT_MAX: u64 = 1 << 53;

/// No loop of this module runs longer. Continued fractions and series need about the square root
/// of their largest parameter, which is at most 1e9 for a size and 2^53 for a count.
pub(crate) const ROUNDS_MAX: u32 = 4_000_000;

/// A count as floating point, exact up to [`COUNT_MAX`].
#[expect(
    clippy::cast_precision_loss,
    reason = "exact up to 2^53, where quantiles end"
)]
pub(crate) fn real(count: u64) -> f64 {
    count as f64
}

/// The whole number at or below `x`, kept within 0 and [`COUNT_MAX`]; NaN gives 0.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the value is clamped to the range of exact counts first"
)]
pub(crate) fn count_at_or_below(x: f64) -> u64 {
    x.floor().clamp(0.0, real(COUNT_MAX)) as u64
}

/// The error of Stirling's formula, ln G(x+1) - (x + 1/2) ln x + x - ln(2 pi)/2, for x > 0.
///
/// C. Loader, *Fast and Accurate Computation of Binomial Probabilities*, 2000. The asymptotic
/// series is Abramowitz and Stegun 6.1.41; from 16 on its seven terms are below the last place.
pub(crate) fn stirling_error(x: f64) -> f64 {
    if x < 16.0 {
        return libm::lgamma(x + 1.0) - (x + 0.5) * x.ln() + x - 0.5 * (2.0 * PI).ln();
    }
    let y = 1.0 / (x * x);
    let tail = 1.0 / 1188.0 - y * (691.0 / 360_360.0 - y / 156.0);
    (1.0 / 12.0 - y * (1.0 / 360.0 - y * (1.0 / 1260.0 - y * (1.0 / 1680.0 - y * tail)))) / x
}

/// The deviance x ln(x/m) + m - x for x, m > 0, with `d` = x - m passed in so that the caller can
/// compute it without cancellation. Loader's series where x is near m.
pub(crate) fn deviance(x: f64, m: f64, d: f64) -> f64 {
    if d.abs() >= 0.1 * (x + m) {
        return x * (x / m).ln() - d;
    }
    let v = d / (x + m);
    let mut sum = d * v;
    let mut term = 2.0 * x * v;
    // |v| < 0.1, so each term is at least a hundred times smaller than the one before.
    for odd in (3..40).step_by(2) {
        term *= v * v;
        let next = sum + term / f64::from(odd);
        if next.to_bits() == sum.to_bits() {
            break;
        }
        sum = next;
    }
    sum
}

/// An approximate standard normal quantile, absolute error below 4.5e-4 (Abramowitz and Stegun
/// 26.2.23). It only starts searches whose end is exact.
pub(crate) fn normal_quantile_start(p: f64) -> f64 {
    let tail = p.min(1.0 - p).max(1e-300);
    let t = (-2.0 * tail.ln()).sqrt();
    let over = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let under = 1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308));
    let z = t - over / under;
    if p < 0.5 { -z } else { z }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stirling_error_meets_log_factorials() {
        // ln 3! = ln 6 and ln 20! = ln 2432902008176640000, exact integers.
        for (x, factorial) in [(3.0_f64, 6.0_f64), (20.0, 2_432_902_008_176_640_000.0)] {
            let stirling = (x + 0.5) * x.ln() - x + 0.5 * (2.0 * PI).ln();
            let found = stirling + stirling_error(x);
            assert!(
                (found - factorial.ln()).abs() < 1e-13 * factorial.ln().max(1.0),
                "{x}"
            );
        }
    }

    #[test]
    fn deviance_is_the_same_by_series_and_by_logarithm() {
        // On both sides of the switch at a tenth; the logarithm is accurate enough there.
        for (x, m) in [(11.0_f64, 10.0_f64), (12.3, 10.0), (9.0, 10.0), (8.0, 10.0)] {
            let by_logarithm = x * (x / m).ln() + m - x;
            assert!(
                (deviance(x, m, x - m) - by_logarithm).abs() < 1e-14 * 10.0,
                "{x} {m}"
            );
        }
    }

    #[test]
    fn conversions_between_counts_and_reals_never_leave_the_range() {
        assert_eq!(count_at_or_below(f64::NAN), 0);
        assert_eq!(count_at_or_below(-3.0), 0);
        assert_eq!(count_at_or_below(2.999), 2);
        assert_eq!(count_at_or_below(f64::INFINITY), COUNT_MAX);
    }
}
