//! Points and weights to integrate a smooth function over 0 to 1.

use std::f64::consts::PI;

use super::real;

/// How many points.
const POINTS: u64 = 48;

/// The points and weights of Gauss and Legendre over 0 to 1; they integrate polynomials up to degree 95.
///
/// Roots of the Legendre polynomial by Newton's method from the asymptotic approximation (Abramowitz and Stegun
/// 22.16.6, 25.4.29).
pub(crate) fn legendre() -> Vec<(f64, f64)> {
    let n = real(POINTS);
    let node = |index: u64| {
        let mut x = (PI * (real(index) + 0.75) / (n + 0.5)).cos();
        let mut slope = 1.0;
        for _ in 0..20 {
            let (value, derivative) = polynomial(x);
            slope = derivative;
            let step = value / slope;
            x -= step;
            if step.abs() < 1e-15 {
                break;
            }
        }
        (0.5 * (1.0 - x), 1.0 / ((1.0 - x * x) * slope * slope))
    };
    (0..POINTS).map(node).collect()
}

/// The Legendre polynomial and its derivative.
fn polynomial(x: f64) -> (f64, f64) {
    let (mut before, mut value) = (1.0, x);
    for degree in 1..POINTS {
        let k = real(degree);
        (before, value) = (
            value,
            ((2.0 * k + 1.0) * x * value - k * before) / (k + 1.0),
        );
    }
    let n = real(POINTS);
    (value, n * (before - x * value) / (1.0 - x * x))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn powers_are_integrated_exactly() {
        let points = legendre();
        for power in [0_i32, 1, 7, 40, 90] {
            let found: f64 = points
                .iter()
                .map(|(x, weight)| weight * x.powi(power))
                .sum();
            let expected = 1.0 / f64::from(power + 1);
            assert!((found / expected - 1.0).abs() < 1e-12, "{power}: {found}");
        }
    }
}
