//! The continued fraction of the regularised incomplete beta function, without its front factor:
//! the caller has that from a probability that is already accurate.

use super::ROUNDS_MAX;

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
