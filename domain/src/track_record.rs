//! The track record: forecasts made over a history as if each period were still to come, and how often they
//! held. How one forecast is judged is in `score`, the simple methods that it is compared with in `reference`; the
//! forecasts themselves are in [`wear`](crate::wear).

use thiserror::Error;

use crate::predictive::{Law, Mixture, NegativeBinomial, PredictiveError};
use crate::wear::discounted::ByCalendar;
use crate::wear::{Gamma, GammaError};

mod reference;
mod score;
#[cfg(test)]
mod tests;

pub use reference::{ByPoint, Method};
pub use score::{PINBALL_CHANCES, RANGES, RangeHeld, Score};

/// A period of a history: what a part was exposed to in it, and what was used, net of returns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Period {
    /// In arc hours, grinds or whatever the part goes by. Where it goes by the calendar, 1 for a normal period,
    /// less for one with closed days.
    pub exposure: f64,
    /// Pieces used.
    pub used: u64,
}

/// Something that forecasts use, one period after the other.
pub trait Forecaster {
    /// The distribution that it forecasts.
    type Law: Law;

    /// Use over so many periods to come, in which the part is exposed to `exposure` in all.
    ///
    /// # Errors
    /// [`TrackRecordError`] where there is no such forecast.
    fn ahead(&self, periods: u32, exposure: f64) -> Result<Self::Law, TrackRecordError>;

    /// Takes in one more period, the oldest first.
    ///
    /// # Errors
    /// [`TrackRecordError`] where nothing can be made of it.
    fn observe(&mut self, period: &Period) -> Result<(), TrackRecordError>;
}

/// Why there is no track record.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum TrackRecordError {
    /// There are not enough periods.
    #[error(
        "a track record needs {needed} periods and there are {periods}; wait, or take shorter periods"
    )]
    TooShort {
        /// How many there are.
        periods: usize,
        /// How many are needed.
        needed: usize,
    },
    /// Nothing ahead, or nothing to learn from first.
    #[error("forecast at least one period ahead, after at least one, not {ahead} after {first}")]
    Plan {
        /// Periods ahead.
        ahead: u32,
        /// Periods before the first forecast.
        first: u32,
    },
    /// An exposure is out of range.
    #[error(transparent)]
    Predictive(#[from] PredictiveError),
    /// What is known went out of range.
    #[error(transparent)]
    Rate(#[from] GammaError),
}

/// From where to where a history is forecast.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Plan {
    /// How many periods each forecast is over, 1 or more. From 2 on the forecasts overlap.
    pub ahead: u32,
    /// How many periods come before the first forecast, 1 or more.
    pub first: u32,
}

impl Plan {
    /// One period ahead, from the thirteenth on.
    pub const USUAL: Self = Self {
        ahead: 1,
        first: 12,
    };
}

/// A wear rate over an exposure that grows with each period.
///
/// It is told the exposure of the periods it forecasts, and so judges the wear rate alone, not how well the
/// work to come was known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ByExposure {
    known: Gamma,
}

impl ByExposure {
    /// A part without a history, on a starting assumption.
    pub fn new(assumed: Gamma) -> Self {
        Self { known: assumed }
    }
}

impl Forecaster for ByExposure {
    type Law = NegativeBinomial;

    fn ahead(&self, _periods: u32, exposure: f64) -> Result<NegativeBinomial, TrackRecordError> {
        Ok(self.known.predictive(exposure)?)
    }

    fn observe(&mut self, period: &Period) -> Result<(), TrackRecordError> {
        self.known = self.known.posterior(period.used, period.exposure)?;
        Ok(())
    }
}

impl Forecaster for ByCalendar {
    type Law = Mixture;

    fn ahead(&self, periods: u32, exposure: f64) -> Result<Mixture, TrackRecordError> {
        Ok(self.predictive(periods, exposure)?)
    }

    fn observe(&mut self, period: &Period) -> Result<(), TrackRecordError> {
        ByCalendar::observe(self, period.used, period.exposure);
        Ok(())
    }
}

/// How the forecasts of a part did on its own history, beside those of simple methods.
#[derive(Debug, Clone, PartialEq)]
pub struct TrackRecord {
    /// How its own forecasts did.
    pub own: Score,
    /// How each simple method did on the same periods.
    pub references: Vec<(Method, Score)>,
}

impl TrackRecord {
    /// The least pinball loss of the simple methods at one of [`PINBALL_CHANCES`], by its place there, and whose
    /// it is.
    pub fn best_reference(&self, place: usize) -> Option<(Method, f64)> {
        let losses = self.references.iter();
        losses
            .filter_map(|(method, score)| Some((*method, *score.pinball.get(place)?)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Goes through a history, oldest first, forecasting each stretch from what came before it, and judges each
/// forecast by what was used then.
///
/// What is forecast is never known to the forecaster, with the exception of the exposure (see [`ByExposure`]).
/// It takes one forecast and one observation a period.
///
/// # Errors
/// [`TrackRecordError`]: a plan without anything ahead or before; a history with no period to forecast; an
/// exposure out of range.
///
/// ```
/// use tigstock_domain::track_record::{ByExposure, Period, Plan, judge};
/// use tigstock_domain::wear::Gamma;
/// let history: Vec<Period> = [1, 0, 0, 2, 1, 0, 1, 0]
///     .map(|used| Period { exposure: 10.0, used })
///     .to_vec();
/// let plan = Plan { ahead: 1, first: 4 };
/// let score = judge(&history, ByExposure::new(Gamma::new(1.0, 15.0)?), plan)?;
/// assert_eq!(score.forecasts, 4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn judge<F: Forecaster>(
    history: &[Period],
    forecaster: F,
    plan: Plan,
) -> Result<Score, TrackRecordError> {
    let mut tally = score::Tally::default();
    forecast_each(history, forecaster, plan, |law, stretch| {
        tally.add(law, stretch.used);
    })?;
    Ok(tally.score())
}

/// One forecast of a history beside what came: enough to draw it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn {
    /// The place in the history of the first period that it is over, from 0.
    pub at: usize,
    /// The exposure of all its periods.
    pub exposure: f64,
    /// The least of the central 90 % range of whole pieces: the quantile at 0.05.
    pub low: u64,
    /// The quantile at 0.5.
    pub median: u64,
    /// The most of the range: the quantile at 0.95.
    pub high: u64,
    /// What was used.
    pub used: u64,
}

impl Drawn {
    /// Whether what was used lies within the range, its ends included.
    pub fn held(&self) -> bool {
        (self.low..=self.high).contains(&self.used)
    }
}

/// Every forecast that [`judge`] judges, oldest first.
///
/// # Errors
/// As [`judge`].
pub fn draw<F: Forecaster>(
    history: &[Period],
    forecaster: F,
    plan: Plan,
) -> Result<Vec<Drawn>, TrackRecordError> {
    let mut drawn = Vec::new();
    forecast_each(history, forecaster, plan, |law, stretch| {
        let ends = law.quantiles(&[0.05, 0.5, 0.95]);
        if let [low, median, high] = ends[..] {
            drawn.push(Drawn {
                at: stretch.at,
                exposure: stretch.exposure,
                low,
                median,
                high,
                used: stretch.used,
            });
        }
    })?;
    Ok(drawn)
}

/// The periods that one forecast is over.
struct Stretch {
    at: usize,
    exposure: f64,
    used: u64,
}

/// Goes through a history and hands on each forecast with what came.
fn forecast_each<F: Forecaster>(
    history: &[Period],
    mut forecaster: F,
    plan: Plan,
    mut take: impl FnMut(&F::Law, &Stretch),
) -> Result<(), TrackRecordError> {
    let Plan { ahead, first } = plan;
    if ahead == 0 || first == 0 {
        return Err(TrackRecordError::Plan { ahead, first });
    }
    let (ahead_by, first) = (whole(ahead), whole(first));
    let needed = first.saturating_add(ahead_by);
    if history.len() < needed {
        let periods = history.len();
        return Err(TrackRecordError::TooShort { periods, needed });
    }
    for (at, period) in history.iter().enumerate() {
        let periods = history.get(at..at + ahead_by).filter(|_| at >= first);
        if let Some(periods) = periods {
            let stretch = Stretch {
                at,
                exposure: periods.iter().map(|period| period.exposure).sum(),
                used: periods
                    .iter()
                    .fold(0_u64, |sum, period| sum.saturating_add(period.used)),
            };
            take(&forecaster.ahead(ahead, stretch.exposure)?, &stretch);
        }
        forecaster.observe(period)?;
    }
    Ok(())
}

/// How a forecaster does on a history beside every simple [`Method`].
///
/// # Errors
/// As [`judge`].
pub fn track_record<F: Forecaster>(
    history: &[Period],
    forecaster: F,
    plan: Plan,
) -> Result<TrackRecord, TrackRecordError> {
    let own = judge(history, forecaster, plan)?;
    let references = Method::ALL.iter().map(|method| {
        let score = judge(history, ByPoint::new(*method), plan)?;
        Ok((*method, score))
    });
    Ok(TrackRecord {
        own,
        references: references.collect::<Result<_, TrackRecordError>>()?,
    })
}

fn whole(number: u32) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX)
}
