//! What every distribution of use can be asked, whatever it was made from.

use super::{CountTable, Mixture, NegativeBinomial};

/// A distribution of a number of pieces.
pub trait Law {
    /// P(use <= k).
    fn cdf(&self, k: u64) -> f64;

    /// The smallest k with P(use <= k) >= `p`; ends as [`NegativeBinomial::quantile`] does.
    fn quantile(&self, p: f64) -> u64;

    /// The quantiles at several chances, in the order given.
    fn quantiles(&self, chances: &[f64]) -> Vec<u64> {
        chances.iter().map(|p| self.quantile(*p)).collect()
    }
}

impl Law for NegativeBinomial {
    fn cdf(&self, k: u64) -> f64 {
        NegativeBinomial::cdf(self, k)
    }

    fn quantile(&self, p: f64) -> u64 {
        NegativeBinomial::quantile(self, p)
    }
}

impl Law for Mixture {
    fn cdf(&self, k: u64) -> f64 {
        Mixture::cdf(self, k)
    }

    fn quantile(&self, p: f64) -> u64 {
        Mixture::quantile(self, p)
    }

    fn quantiles(&self, chances: &[f64]) -> Vec<u64> {
        Mixture::quantiles(self, chances)
    }
}

impl Law for CountTable {
    fn cdf(&self, k: u64) -> f64 {
        CountTable::cdf(self, k)
    }

    fn quantile(&self, p: f64) -> u64 {
        CountTable::quantile(self, p)
    }
}
