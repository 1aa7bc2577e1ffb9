//! The most likely pair of rates of a record, with or without a prior. It is a point; what is known
//! beyond it is in `posterior`.

use super::{Cells, TwoDriverError};
use crate::special::real;
use crate::wear::Gamma;

/// The rates a and b that are most likely, neither below zero, and how the likelihood lies there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// The rates, in pieces per unit of the first and of the second driver.
    pub rates: [f64; 2],
    /// Whether each rate is at its bound of zero.
    pub at_zero: [bool; 2],
    /// Logarithm of the Poisson likelihood there, with the terms ln y!.
    pub ln_likelihood: f64,
    /// The same without those terms, which do not depend on the rates.
    pub ln_likelihood_without_factorials: f64,
    /// What was made largest: the latter and, with priors, (shape - 1) ln rate - prior rate x rate
    /// of each.
    pub ln_objective: f64,
    /// Its slopes: zero to rounding inside, zero or below at a bound.
    pub gradient: [f64; 2],
    /// The inverse of the observed information; none at a bound, or where the record cannot tell
    /// the drivers apart.
    pub covariance: Option<[[f64; 2]; 2]>,
}

/// What is added to a likelihood of rates: `power` ln rate - `rate` x rate, for each.
#[derive(Debug, Clone, Copy)]
struct Pull {
    power: [f64; 2],
    rate: [f64; 2],
}

impl Cells {
    /// The maximum of the likelihood over rates that are not negative.
    ///
    /// Without any pieces used, and for a driver without any exposure, the rate is 0. The problem
    /// is concave; at its maximum a x (sum of first) + b x (sum of second) equals the pieces used,
    /// which leaves one unknown, the share of the first driver, found by Newton's method inside a
    /// bracket. Poisson counts with an identity link: Nelder and Wedderburn, *Journal of the Royal
    /// Statistical Society A* 135, 1972.
    pub fn most_likely(&self) -> Fit {
        let pull = Pull {
            power: [0.0; 2],
            rate: [0.0; 2],
        };
        self.fit(&pull)
    }

    /// The mode of the posterior in the rates themselves, with independent gamma priors.
    ///
    /// # Errors
    /// [`TwoDriverError::Mode`] for a prior of a shape below 1.
    pub fn most_likely_with(&self, priors: [&Gamma; 2]) -> Result<Fit, TwoDriverError> {
        if let Some(prior) = priors.iter().find(|prior| prior.shape() < 1.0) {
            return Err(TwoDriverError::Mode(prior.shape()));
        }
        Ok(self.fit(&Pull {
            power: priors.map(|prior| prior.shape() - 1.0),
            rate: priors.map(Gamma::rate),
        }))
    }

    fn fit(&self, pull: &Pull) -> Fit {
        let over = [self.first + pull.rate[0], self.second + pull.rate[1]];
        // Each slope times its rate, summed, is zero at the maximum; that sum is this total less
        // a over[0] - b over[1].
        let total = real(self.events) + pull.power[0] + pull.power[1];
        let share = self.share(pull, over);
        let part = |share: f64, over: f64| {
            if over > 0.0 && share > 0.0 {
                total * share / over
            } else {
                0.0
            }
        };
        let rates = [part(share, over[0]), part(1.0 - share, over[1])];
        self.told(rates, pull, over)
    }

    /// The first driver's share of the total, from 0 to 1.
    fn share(&self, pull: &Pull, over: [f64; 2]) -> f64 {
        if over[0] <= 0.0 {
            return 0.0;
        }
        if over[1] <= 0.0 {
            return 1.0;
        }
        let slopes = |share: f64| self.slopes(pull, over, share);
        if slopes(0.0).0 <= 0.0 {
            return 0.0;
        }
        if slopes(1.0).0 >= 0.0 {
            return 1.0;
        }
        let (mut low, mut high, mut share) = (0.0, 1.0, 0.5);
        for _ in 0..200 {
            let (slope, curvature) = slopes(share);
            if slope > 0.0 {
                low = share;
            } else {
                high = share;
            }
            let newton = share - slope / curvature;
            let next = if newton > low && newton < high {
                newton
            } else {
                0.5 * (low + high)
            };
            let moved = (next - share).abs();
            share = next;
            if moved <= 1e-16 * share.min(1.0 - share) {
                break;
            }
        }
        share
    }

    /// Slope and curvature of the objective in the share of the first driver.
    fn slopes(&self, pull: &Pull, over: [f64; 2], share: f64) -> (f64, f64) {
        let (mut slope, mut curvature) = (0.0, 0.0);
        let mut term = |weight: f64, first: f64, second: f64| {
            if weight > 0.0 {
                let ratio = (first - second) / (share * first + (1.0 - share) * second);
                slope += weight * ratio;
                curvature -= weight * ratio * ratio;
            }
        };
        term(pull.power[0], 1.0, 0.0);
        term(pull.power[1], 0.0, 1.0);
        for cell in self.used() {
            term(
                real(cell.events),
                cell.first / over[0],
                cell.second / over[1],
            );
        }
        (slope, curvature)
    }

    fn told(&self, rates: [f64; 2], pull: &Pull, over: [f64; 2]) -> Fit {
        let mut gradient = over.map(|over| -over);
        let mut information = [0.0; 3];
        for cell in self.used() {
            let mean = rates[0] * cell.first + rates[1] * cell.second;
            let (first, second) = (cell.first / mean, cell.second / mean);
            let events = real(cell.events);
            gradient[0] += events * first;
            gradient[1] += events * second;
            information[0] += events * first * first;
            information[1] += events * first * second;
            information[2] += events * second * second;
        }
        let mut ln_prior = 0.0;
        for driver in 0..2 {
            if pull.power[driver] > 0.0 {
                gradient[driver] += pull.power[driver] / rates[driver];
                information[2 * driver] += pull.power[driver] / (rates[driver] * rates[driver]);
                ln_prior += pull.power[driver] * rates[driver].ln();
            }
            ln_prior -= pull.rate[driver] * rates[driver];
        }
        let at_zero = rates.map(|rate| rate <= 0.0);
        let ln_likelihood = self.ln_likelihood(rates);
        Fit {
            rates,
            at_zero,
            ln_likelihood: ln_likelihood - self.ln_factorials,
            ln_likelihood_without_factorials: ln_likelihood,
            ln_objective: ln_likelihood + ln_prior,
            gradient,
            covariance: (at_zero == [false; 2])
                .then(|| inverse(information))
                .flatten(),
        }
    }
}

/// The inverse of a symmetric matrix, given as its upper triangle; none if it has none.
fn inverse([aa, ab, bb]: [f64; 3]) -> Option<[[f64; 2]; 2]> {
    let determinant = aa * bb - ab * ab;
    (determinant > 1e-12 * aa * bb).then(|| {
        [
            [bb / determinant, -ab / determinant],
            [-ab / determinant, aa / determinant],
        ]
    })
}
