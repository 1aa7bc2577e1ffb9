//! The regularised incomplete beta function: its front factor and its continued fraction apart, because
//! a predictive has the first as a probability already, and both together.

use std::f64::consts::PI;

use super::{ROUNDS_MAX, deviance, stirling_error};

/// A number that stands in for an exact zero in Lentz's method.
const TINY: f64 = 1e-300;

/// The F in `I_x(a, b) = x^a y^b / (a B(a, b)) * F`, for x + y = 1 and 0 < x < (a+1)/(a+b+2).
///
/// The even part of the fraction DLMF 8.17.22, in the form of algorithm 708
/// (*ACM Transactions on Mathematical Software* 18, 1992), evaluated by the modified Lentz method
/// (Thompson and Barnett, *Journal of Computational Physics* 64, 1986). Its terms take y as given
/// and so keep their digits where x is within rounding of 1. It converges in about
/// sqrt(max(a, b)) rounds.
#[expect(
    clippy::many_single_char_names,
    reason = "the letters are those of the formula"
)]
pub(crate) fn fraction(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let away_from_zero = |value: f64| if value.abs() < TINY { TINY } else { value };
    let balance = a * y - b * x + 1.0;
    let mut value = away_from_zero(a * balance / (a + 1.0));
    let mut c = value;
    let mut d = 0.0;
    for round in 1..ROUNDS_MAX {
        let m = f64::from(round);
        let below = a + 2.0 * m - 1.0;
        let over = ((a + m - 1.0) / below) * ((a + b + m - 1.0) / below) * m * (b - m) * x * x;
        let under =
            m + m * (b - m) * x / below + (a + m) * (balance + m * (1.0 + y)) / (below + 2.0);
        d = 1.0 / away_from_zero(under + over * d);
        c = away_from_zero(under + over / c);
        let step = c * d;
        value *= step;
        if (step - 1.0).abs() < 4.0 * f64::EPSILON {
            break;
        }
    }
    a / value
}

/// The logarithm of the front factor x^a y^b / (a B(a, b)), for x + y = 1, both above 0, and a, b > 0.
///
/// It is the negative binomial probability of `a` events (which need not be whole) of size `b`. Loader's
/// saddle-point form: Stirling errors and deviances instead of differences of log-gamma values, so that
/// no digits are lost for large parameters.
#[expect(
    clippy::many_single_char_names,
    reason = "the letters are those of the formula"
)]
pub(crate) fn ln_front(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let n = a + b;
    // b - n y = b x - a y, and a - n x is its negative.
    let d = b * x - a * y;
    let errors = stirling_error(n) - stirling_error(b) - stirling_error(a);
    let deviances = deviance(b, n * y, d) + deviance(a, n * x, -d);
    // P = (b/n) Binomial(b; n, y), and the binomial's factor is sqrt(n / (2 pi a b)).
    errors - deviances + 0.5 * (b / (2.0 * PI * n * a)).ln()
}

/// `I_x(a, b)` and what it leaves to 1, for x + y = 1 and a, b > 0; both accurate when they are tiny.
pub(crate) fn regularised(a: f64, b: f64, x: f64, y: f64) -> (f64, f64) {
    if x <= 0.0 {
        (0.0, 1.0)
    } else if y <= 0.0 {
        (1.0, 0.0)
    } else if x * (a + b + 2.0) < a + 1.0 {
        let lower = (ln_front(a, b, x, y).exp() * fraction(a, b, x, y)).min(1.0);
        (lower, 1.0 - lower)
    } else {
        let upper = (ln_front(b, a, y, x).exp() * fraction(b, a, y, x)).min(1.0);
        (1.0 - upper, upper)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_parameters_are_a_sum_of_binomial_chances() {
        // I_x(3, 4) is the chance of 3 or more of 6: 20 x^3 y^3 + 15 x^4 y^2 + 6 x^5 y + x^6.
        for x in [1e-6_f64, 0.2, 0.5, 0.9, 0.999_999] {
            let y = 1.0 - x;
            let more = 20.0 * x.powi(3) * y.powi(3)
                + 15.0 * x.powi(4) * y.powi(2)
                + 6.0 * x.powi(5) * y
                + x.powi(6);
            let fewer = y.powi(6) + 6.0 * x * y.powi(5) + 15.0 * x.powi(2) * y.powi(4);
            let (lower, upper) = regularised(3.0, 4.0, x, y);
            assert!((lower / more - 1.0).abs() < 1e-13, "{x}: {lower} {more}");
            assert!((upper / fewer - 1.0).abs() < 1e-9, "{x}: {upper} {fewer}");
        }
    }

    #[test]
    fn a_half_and_a_half_is_the_arcsine_law() {
        // I_x(1/2, 1/2) = 2/pi asin(sqrt(x)).
        for x in [0.01_f64, 0.3, 0.77] {
            let expected = x.sqrt().asin() * 2.0 / PI;
            let (lower, _) = regularised(0.5, 0.5, x, 1.0 - x);
            assert!((lower / expected - 1.0).abs() < 1e-13, "{x}");
        }
    }
}
