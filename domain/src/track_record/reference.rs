//! The simple methods that forecasts are compared with, each with a range about its point. The points come from
//! [`intermittent`](crate::intermittent).

use super::{Forecaster, Period, TrackRecordError};
use crate::intermittent::{Croston, Smoothing, Tsb};
use crate::named::named;
use crate::predictive::NegativeBinomial;
use crate::special::real;
use crate::wear::Gamma;

/// How many periods the moving average is over.
const WINDOW: usize = 12;

named! {
    /// A simple method that forecasts a point.
    Method, "method" {
        /// The mean of the last twelve periods, or of all if they are fewer.
        MovingAverage = "moving-average",
        /// Croston's method.
        Croston = "croston",
        /// The Syntetos-Boylan approximation.
        SyntetosBoylan = "syntetos-boylan",
        /// The method of Teunter, Syntetos and Babai.
        Tsb = "teunter-syntetos-babai",
    }
}

/// A simple method with a range about its point.
///
/// Smoothing constants are 0.1. None of the methods says how far off it may be, so each is given the same
/// distribution, and a fair one: negative binomial about the point, whose variance is as many times the mean as
/// the method's own one-period errors were so far, the sum of their squares over the sum of the forecasts, and at
/// least once, which is all but Poisson. Over h periods, mean and variance are h times as much. The methods know
/// of periods only, not of exposure.
#[derive(Debug, Clone)]
pub struct ByPoint {
    method: Method,
    recent: [f64; WINDOW],
    observed: usize,
    croston: Croston,
    tsb: Tsb,
    squares: f64,
    forecasts: f64,
}

impl ByPoint {
    /// A method that has seen nothing.
    pub fn new(method: Method) -> Self {
        Self {
            method,
            recent: [0.0; WINDOW],
            observed: 0,
            croston: Croston::new(Smoothing::USUAL),
            tsb: Tsb::new(Smoothing::USUAL, Smoothing::USUAL),
            squares: 0.0,
            forecasts: 0.0,
        }
    }

    /// The point, in pieces a period; 0 where nothing was seen.
    pub fn point(&self) -> f64 {
        match self.method {
            Method::MovingAverage => {
                let seen = self.observed.clamp(1, WINDOW);
                self.recent.iter().sum::<f64>() / real(u64::try_from(seen).unwrap_or(1))
            }
            Method::Croston => self.croston.forecast(),
            Method::SyntetosBoylan => self.croston.forecast_less_bias(),
            Method::Tsb => self.tsb.forecast(),
        }
    }

    /// How many times the mean the variance is, 1 or more.
    fn dispersion(&self) -> f64 {
        if self.forecasts > 0.0 {
            (self.squares / self.forecasts).max(1.0)
        } else {
            1.0
        }
    }
}

impl Forecaster for ByPoint {
    type Law = NegativeBinomial;

    fn ahead(&self, periods: u32, _exposure: f64) -> Result<NegativeBinomial, TrackRecordError> {
        let mean = f64::from(periods) * self.point();
        if mean <= 0.0 {
            return Ok(NegativeBinomial::new(1.0, 1.0, 0.0)?);
        }
        // Size s over 1 at rate T has mean s T and variance (1 + T) times that.
        let size = mean / (self.dispersion() - 1.0).max(mean / Gamma::MAX);
        let size = size.clamp(Gamma::SHAPE_MIN, Gamma::MAX);
        let over = (mean / size).min(NegativeBinomial::EXPOSURE_MAX);
        Ok(NegativeBinomial::new(size, 1.0, over)?)
    }

    fn observe(&mut self, period: &Period) -> Result<(), TrackRecordError> {
        let used = real(period.used);
        if self.observed > 0 {
            let point = self.point();
            self.squares += (used - point).powi(2);
            self.forecasts += point;
        }
        self.recent[self.observed % WINDOW] = used;
        self.observed += 1;
        self.croston.observe(used);
        self.tsb.observe(used);
        Ok(())
    }
}
