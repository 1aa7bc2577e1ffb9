//! How fast a part wears: a gamma rate, the evidence it stands on, and the rung of the ladder that
//! a job's size allows. What follows for a coming piece of work is in
//! [`predictive`](crate::predictive).

use std::fmt;

use thiserror::Error;

use crate::exposure::{ArcTime, Driver, Grinds};
use crate::predictive::{NegativeBinomial, PredictiveError};
use crate::special::{self, gamma};

#[cfg(test)]
mod tests;

/// A wear rate in pieces per unit of exposure, known as Gamma(shape a, rate b).
///
/// The rate b is in the unit of the exposure (arc hours, grinds, weeks) and reads as the exposure
/// the knowledge is worth; a reads as the pieces used in it. Conjugate to Poisson counts: Gelman
/// and others, *Bayesian Data Analysis*.
///
/// ```
/// use tigstock_domain::wear::Gamma;
/// let assumed = Gamma::new(1.0, 40.0)?;
/// let known = assumed.posterior(9, 410.0)?;
/// assert!((known.mean() - 10.0 / 450.0).abs() < 1e-15);
/// assert!((assumed.own_data_share(410.0) - 0.91).abs() < 0.005);
/// # Ok::<(), tigstock_domain::wear::GammaError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gamma {
    shape: f64,
    rate: f64,
}

/// Why there is no such wear rate.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum GammaError {
    /// The shape is out of range or not a number.
    #[error("the shape of a wear rate must be from 0.001 to 1000000000, not {0}")]
    Shape(f64),
    /// The rate is out of range or not a number.
    #[error("the rate of a wear rate must be from 0.000001 to 1000000000, not {0}")]
    Rate(f64),
    /// The exposure added is negative, infinite or not a number.
    #[error("an exposure must be a number from 0 up, not {0}")]
    Exposure(f64),
}

impl Gamma {
    /// The smallest shape.
    pub const SHAPE_MIN: f64 = 1e-3;
    /// The smallest rate, small enough for what is counted in millilitres.
    pub const RATE_MIN: f64 = 1e-6;
    /// The largest shape and the largest rate.
    pub const MAX: f64 = 1e9;

    /// Gamma(`shape`, `rate`).
    ///
    /// # Errors
    /// [`GammaError`] for a shape outside 1e-3 to 1e9 or a rate outside 1e-6 to 1e9.
    pub fn new(shape: f64, rate: f64) -> Result<Self, GammaError> {
        if !(Self::SHAPE_MIN..=Self::MAX).contains(&shape) {
            Err(GammaError::Shape(shape))
        } else if !(Self::RATE_MIN..=Self::MAX).contains(&rate) {
            Err(GammaError::Rate(rate))
        } else {
            Ok(Self { shape, rate })
        }
    }

    /// Figures that are written in this crate and within the range; its tests see to it.
    pub(crate) const fn written(shape: f64, rate: f64) -> Self {
        Self { shape, rate }
    }

    /// The shape a, in pieces.
    pub fn shape(&self) -> f64 {
        self.shape
    }

    /// The rate b, in units of exposure.
    pub fn rate(&self) -> f64 {
        self.rate
    }

    /// The mean rate a / b, in pieces per unit of exposure.
    pub fn mean(&self) -> f64 {
        self.shape / self.rate
    }

    /// What is known after `events` pieces were used in `exposure` more: Gamma(a + n, b + E).
    ///
    /// # Errors
    /// [`GammaError`]: a negative or infinite exposure, or a sum beyond 1e9.
    pub fn posterior(&self, events: u64, exposure: f64) -> Result<Self, GammaError> {
        if !(exposure >= 0.0 && exposure.is_finite()) {
            return Err(GammaError::Exposure(exposure));
        }
        Self::new(self.shape + special::real(events), self.rate + exposure)
    }

    /// The rate that is not exceeded with chance `p`, in pieces per unit of exposure; relative
    /// error below 1e-9.
    ///
    /// `p` at or below 0 gives 0; at or above 1, or not a number, infinity.
    pub fn quantile(&self, p: f64) -> f64 {
        if p <= 0.0 {
            0.0
        } else if p < 1.0 {
            gamma::quantile(self.shape, p) / self.rate
        } else {
            f64::INFINITY
        }
    }

    /// How much of what is known after an exposure E on this assumption is the shop's own:
    /// E / (b + E), from 0 to 1.
    pub fn own_data_share(&self, exposure: f64) -> f64 {
        if exposure.is_infinite() && exposure > 0.0 {
            1.0
        } else if exposure > 0.0 {
            exposure / (self.rate + exposure)
        } else {
            0.0
        }
    }

    /// Pieces used over a coming `exposure` at this rate.
    ///
    /// # Errors
    /// [`PredictiveError::Exposure`] outside 0 to 1e9.
    pub fn predictive(&self, exposure: f64) -> Result<NegativeBinomial, PredictiveError> {
        NegativeBinomial::over(self, exposure)
    }
}

/// What one part at one site in one group of people has seen.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Evidence {
    /// Pieces used. Late corrections may take it below zero for a while; that counts as none.
    pub events: i64,
    /// Arc time logged, in seconds.
    pub arc_seconds: i64,
    /// Grinds logged.
    pub grinds: i64,
    /// Weeks from the first record to the time of asking.
    pub weeks: f64,
}

impl Evidence {
    /// Pieces used, none if the sum is below zero.
    pub fn used(&self) -> u64 {
        u64::try_from(self.events).unwrap_or(0)
    }

    /// The exposure seen under a driver, in arc hours, grinds or weeks; 0 where none is logged.
    pub fn exposure(&self, driver: Driver) -> f64 {
        let whole = |number: i64| special::real(u64::try_from(number).unwrap_or(0));
        match driver {
            Driver::ArcTime => whole(self.arc_seconds) / 3600.0,
            Driver::Grinds => whole(self.grinds),
            Driver::Weeks if self.weeks.is_finite() => self.weeks.max(0.0),
            Driver::Weeks => 0.0,
        }
    }
}

/// How large a coming piece of work is, by as many drivers as are known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct JobSize {
    /// Its arc time.
    pub arc: Option<ArcTime>,
    /// Its grinds.
    pub grinds: Option<Grinds>,
    /// How many normal weeks of TIG it is.
    pub weeks: Option<f64>,
}

impl JobSize {
    /// The exposure to come under a driver, in arc hours, grinds or weeks. A number of weeks that
    /// is negative or not finite is as good as none.
    pub fn exposure(&self, driver: Driver) -> Option<f64> {
        match driver {
            Driver::ArcTime => self.arc.map(ArcTime::hours),
            Driver::Grinds => self.grinds.map(|grinds| f64::from(grinds.get())),
            Driver::Weeks => self
                .weeks
                .filter(|weeks| weeks.is_finite() && *weeks >= 0.0),
        }
    }
}

/// The rung of the ladder of evidence that a forecast stands on; the first is the firmest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rung {
    /// The power source's own arc timer.
    Counter,
    /// Arc time as typed after each session.
    TypedEstimate,
    /// Gas-on time worked out from cylinder swaps.
    CylinderSwap,
    /// Grinds, without arc time.
    Grinds,
    /// What was taken from the drawer in how many weeks.
    Withdrawals,
    /// Two counts and the receipts between them.
    Counts,
    /// Nothing of the shop's own.
    Assumption,
}

impl Rung {
    /// Every rung, from the firmest down.
    pub const ALL: [Self; 7] = [
        Self::Counter,
        Self::TypedEstimate,
        Self::CylinderSwap,
        Self::Grinds,
        Self::Withdrawals,
        Self::Counts,
        Self::Assumption,
    ];

    /// Its number, 1 to 7.
    pub fn number(self) -> u8 {
        match self {
            Self::Counter => 1,
            Self::TypedEstimate => 2,
            Self::CylinderSwap => 3,
            Self::Grinds => 4,
            Self::Withdrawals => 5,
            Self::Counts => 6,
            Self::Assumption => 7,
        }
    }

    /// Its name in a few words.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Counter => "arc timer",
            Self::TypedEstimate => "typed estimate",
            Self::CylinderSwap => "cylinder swap",
            Self::Grinds => "grinds only",
            Self::Withdrawals => "withdrawals only",
            Self::Counts => "counts only",
            Self::Assumption => "starting assumption",
        }
    }

    /// A sentence for the reader of a forecast.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::Counter => "From the arc timer of the power source.",
            Self::TypedEstimate => "From the arc time you logged.",
            Self::CylinderSwap => "From cylinder swaps; leaks and purging make it a wide estimate.",
            Self::Grinds => "No arc hours; forecast is per grind.",
            Self::Withdrawals => "No arc hours or grinds; forecast is per week of withdrawals.",
            Self::Counts => "From two counts and the receipts between them.",
            Self::Assumption => "No history yet; this is a starting assumption.",
        }
    }
}

impl fmt::Display for Rung {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// The evidence and the size of the job have no driver in common.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoEvidence {
    /// The job has no size at all.
    #[error(
        "say how large the job is: its arc time, its grinds, or how many normal weeks of TIG it is"
    )]
    NoSize,
    /// Pieces were used, but nothing of what the job is sized by was logged. A rate out of them
    /// would be a number divided by nothing.
    #[error("{used} used, but {}", missing(.sized_by))]
    NotLogged {
        /// Pieces used.
        used: u64,
        /// The drivers the job is sized by.
        sized_by: Vec<Driver>,
    },
}

/// What is missing, and what would help: to log it, or to size the job by weeks, which pass
/// without being logged.
fn missing(sized_by: &[Driver]) -> String {
    let to_log: Vec<&str> = sized_by
        .iter()
        .filter(|driver| **driver != Driver::Weeks)
        .map(|driver| driver.plural())
        .collect();
    let (no, or) = (to_log.join(" and no "), to_log.join(" or "));
    match (to_log.is_empty(), sized_by.contains(&Driver::Weeks)) {
        (true, _) => "no time has passed since the first record; give the job in arc hours or \
                      grinds and log those, or ask again in a week"
            .to_owned(),
        (false, true) => {
            format!("no {no} logged and no time has passed; log {or}, or ask again in a week")
        }
        (false, false) => {
            format!("no {no} logged; log {or}, or give the job as a number of normal weeks of TIG")
        }
    }
}

/// The rung and the driver for a job of this size on this evidence.
///
/// From the firmest down: arc time given and logged (rung 2), grinds given and logged (rung 4),
/// weeks given and at least some time since the first record (rung 5). If pieces were used but no
/// such driver fits, there is no rate to be had. If none were used, the first driver given stands
/// on its starting assumption (rung 7).
///
/// # Errors
/// [`NoEvidence`] with what to log or give.
pub fn choose(evidence: &Evidence, size: &JobSize) -> Result<(Rung, Driver), NoEvidence> {
    const LADDER: [(Driver, Rung); 3] = [
        (Driver::ArcTime, Rung::TypedEstimate),
        (Driver::Grinds, Rung::Grinds),
        (Driver::Weeks, Rung::Withdrawals),
    ];
    let given = || {
        LADDER
            .into_iter()
            .filter(|(driver, _)| size.exposure(*driver).is_some())
    };
    let own = given().find(|(driver, _)| evidence.exposure(*driver) > 0.0);
    if let Some((driver, rung)) = own {
        return Ok((rung, driver));
    }
    let (first, _) = given().next().ok_or(NoEvidence::NoSize)?;
    if evidence.used() == 0 {
        return Ok((Rung::Assumption, first));
    }
    let sized_by = given().map(|(driver, _)| driver).collect();
    Err(NoEvidence::NotLogged {
        used: evidence.used(),
        sized_by,
    })
}
