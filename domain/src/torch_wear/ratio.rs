//! How many times as fast one torch uses a part as the others, with what is not known of both. Whether
//! that is worth an alarm is not decided here.

use crate::special::beta;
use crate::wear::Gamma;

/// The ratio of two independent gamma rates X ~ Gamma(a1, b1) of the torch and Y ~ Gamma(a2, b2) of the
/// others.
///
/// `b1 X / (b1 X + b2 Y)` is Beta(a1, a2), so `P(X / Y <= r)` is the regularised incomplete beta function
/// `I_z(a1, a2)` at `z = b1 r / (b1 r + b2)`: a scaled beta of the second kind (Johnson, Kotz and
/// Balakrishnan, *Continuous Univariate Distributions*, chapter 25).
///
/// ```
/// use tigstock_domain::torch_wear::Ratio;
/// use tigstock_domain::wear::Gamma;
/// let torch = Gamma::new(2.0, 20.0)?.posterior(10, 24.0)?;
/// let times = Ratio::new(torch, Gamma::new(60.0, 430.0)?);
/// assert!((times.quantile(0.5) - 1.9).abs() < 0.05);
/// # Ok::<(), tigstock_domain::wear::GammaError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratio {
    torch: Gamma,
    others: Gamma,
}

/// The logarithm of the odds of z at which the search ends: beyond any that a range could ask for.
const ODDS_MAX: f64 = 700.0;
/// Halvings of the search: from 1400 down to below the last place.
const HALVINGS: u32 = 64;

impl Ratio {
    /// The ratio of the rate of one torch to that of the others.
    pub const fn new(torch: Gamma, others: Gamma) -> Self {
        Self { torch, others }
    }

    /// The chance that the torch is at most `times` as fast, 0 to 1; 0 for anything that is not above 0.
    pub fn cdf(&self, times: f64) -> f64 {
        if times > 0.0 {
            self.at_odds((times * self.torch.rate() / self.others.rate()).ln())
        } else {
            0.0
        }
    }

    /// `I_z(a1, a2)` at z with these logarithmic odds.
    fn at_odds(&self, odds: f64) -> f64 {
        let odds = odds.clamp(-ODDS_MAX, ODDS_MAX);
        let (z, rest) = (1.0 / (1.0 + (-odds).exp()), 1.0 / (1.0 + odds.exp()));
        beta::regularised(self.torch.shape(), self.others.shape(), z, rest).0
    }

    /// How many times as fast it is at most with chance `p`; relative error below 1e-9.
    ///
    /// `p` at or below 0 gives 0; at or above 1, or not a number, infinity.
    pub fn quantile(&self, p: f64) -> f64 {
        if p <= 0.0 {
            return 0.0;
        } else if p >= 1.0 || p.is_nan() {
            return f64::INFINITY;
        }
        let (mut low, mut high) = (-ODDS_MAX, ODDS_MAX);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if self.at_odds(middle) < p {
                low = middle;
            } else {
                high = middle;
            }
        }
        (0.5 * (low + high)).exp() * self.others.rate() / self.torch.rate()
    }
}
