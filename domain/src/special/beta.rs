//! The continued fraction of the regularised incomplete beta function, without its front factor:
//! the caller has that from a probability that is already accurate.

use super::ROUNDS_MAX;

/// A number that stands in for an exact zero in Lentz's method.
const TINY: f64 = 1e-300;

/// The F in `I_x(a, b) = x^a (1-x)^b / (a B(a, b)) * F`, for 0 < x < (a+1)/(a+b+2).
///
/// DLMF 8.17.22, evaluated by the modified Lentz method (Thompson and Barnett, *Journal of
/// Computational Physics* 64, 1986). In the range given it converges in about
/// sqrt(max(a, b)) rounds.
pub(crate) fn fraction(a: f64, b: f64, x: f64) -> f64 {
    let away_from_zero = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for round in 1..ROUNDS_MAX {
        let m = f64::from(round);
        let two_m = 2.0 * m;
        let even = m * (b - m) * x / ((a + two_m - 1.0) * (a + two_m));
        d = 1.0 / away_from_zero(1.0 + even * d);
        c = away_from_zero(1.0 + even / c);
        value *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + two_m) * (a + two_m + 1.0));
        d = 1.0 / away_from_zero(1.0 + odd * d);
        c = away_from_zero(1.0 + odd / c);
        let step = d * c;
        value *= step;
        if (step - 1.0).abs() < 4.0 * f64::EPSILON {
            break;
        }
    }
    value
}
