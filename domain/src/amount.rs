//! Use of what is measured rather than counted, gas and filler: from what a list of welds takes on
//! paper, and from what the shop drew. The formulas of the paper are in [`gas`](crate::gas) and
//! [`weld`](crate::weld).

use thiserror::Error;

use crate::special::real;
use crate::wear::{Gamma, GammaError};

/// How far a job's true use is from the paper: a spread of 20 %, which is a shape of 25. Invented.
pub const PAPER_SHAPE: f64 = 25.0;

/// Why there is no rate of such a use.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum AmountError {
    /// Nothing is planned, or over no time.
    #[error("a use of {planned} over {exposure} arc hours has no rate; plan more than nothing")]
    Nothing {
        /// What is planned, in millilitres or grams.
        planned: i64,
        /// Over so many arc hours.
        exposure: f64,
    },
    /// A rate out of range.
    #[error(transparent)]
    Rate(#[from] GammaError),
}

/// The rate of a use of `planned` millilitres or grams over `exposure` arc hours, as the paper has
/// it: Gamma(25, 25 T / M), whose mean over T is M and whose spread is 20 %.
///
/// # Errors
/// [`AmountError`]: nothing planned, no exposure, or beyond the range of a rate.
pub fn on_paper(planned: i64, exposure: f64) -> Result<Gamma, AmountError> {
    let amount = u64::try_from(planned).ok().filter(|amount| *amount > 0);
    let Some(amount) = amount.filter(|_| exposure > 0.0) else {
        return Err(AmountError::Nothing { planned, exposure });
    };
    Ok(Gamma::new(
        PAPER_SHAPE,
        PAPER_SHAPE * exposure / real(amount),
    )?)
}

/// What is known after the shop drew `used` over `exposure` arc hours, `grain` at a time:
/// Gamma(a + n / g, b + E / g).
///
/// Withdrawals are what is Poisson, not millilitres: twenty cylinders are twenty pieces of evidence
/// and not 168 million, so both the use and the exposure are divided by the size g of one. A grain
/// below 1 counts as 1.
///
/// ```
/// use tigstock_domain::amount::{drawn, on_paper};
/// // 16 m3 planned over 34 h; 25 cylinders of 8.4 m3 drawn over 410 h, 512 L an hour.
/// let paper = on_paper(16_000_000, 34.0)?;
/// let known = drawn(&paper, 210_000_000, 410.0, 8_400_000)?;
/// assert!((known.shape() - 50.0).abs() < 1e-9);
/// // As sure of both: 471 L an hour on paper (25 in 446 h) and 512 by record (25 in 410 h).
/// assert!((known.mean() / 1e3 - 50.0 / (25.0 / 470.588 + 410.0 / 8_400.0)).abs() < 0.01);
/// # Ok::<(), tigstock_domain::amount::AmountError>(())
/// ```
///
/// # Errors
/// [`AmountError::Rate`] for an exposure that is negative or not a number, or beyond the range.
pub fn drawn(paper: &Gamma, used: u64, exposure: f64, grain: i64) -> Result<Gamma, AmountError> {
    let grain = real(u64::try_from(grain.max(1)).unwrap_or(1));
    if !(exposure >= 0.0 && exposure.is_finite()) {
        return Err(GammaError::Exposure(exposure).into());
    }
    Ok(Gamma::new(
        paper.shape() + real(used) / grain,
        paper.rate() + exposure / grain,
    )?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_paper_has_its_amount_as_mean_and_a_fifth_of_it_as_deviation() {
        let paper = on_paper(595_000, 1.0).expect("a rate");
        let uses = paper.predictive(1.0).expect("a predictive");
        assert!((uses.mean() - 595_000.0).abs() < 1e-6);
        let deviation = uses.variance().sqrt();
        assert!((deviation / 595_000.0 - 0.2).abs() < 1e-4, "{deviation}");
        // A gamma of shape 25 has its 95 % point at 67.505 / 50 of its mean (chi-square of 50
        // degrees of freedom, as tables print it).
        let need = real(uses.quantile(0.95));
        assert!((need / 595_000.0 - 67.505 / 50.0).abs() < 1e-3, "{need}");
    }

    #[test]
    fn nothing_has_no_rate() {
        for (planned, exposure) in [(0, 1.0), (-5, 1.0), (5, 0.0), (5, f64::NAN)] {
            assert!(
                matches!(
                    on_paper(planned, exposure),
                    Err(AmountError::Nothing { .. })
                ),
                "{planned} {exposure}"
            );
        }
        let paper = on_paper(1_000, 1.0).expect("a rate");
        assert!(drawn(&paper, 1, -1.0, 1).is_err());
        assert!(drawn(&paper, 1, f64::NAN, 1).is_err());
    }

    #[test]
    fn a_record_weighs_by_its_withdrawals_and_not_by_its_millilitres() {
        let paper = on_paper(8_000_000, 16.0).expect("a rate");
        let one = drawn(&paper, 8_400_000, 10.0, 8_400_000).expect("a rate");
        assert!((one.shape() - 26.0).abs() < 1e-9);
        // Much more on record outweighs the paper.
        let many = drawn(&paper, 8_400_000_000, 10_000.0, 8_400_000).expect("a rate");
        assert!(
            (many.mean() / 840_000.0 - 1.0).abs() < 0.03,
            "{}",
            many.mean()
        );
        // Nothing on record leaves it.
        assert_eq!(drawn(&paper, 0, 0.0, 8_400_000), Ok(paper));
    }
}
