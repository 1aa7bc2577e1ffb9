//! The ladder of evidence: what a part has seen, how large a job is, and the firmest rung on which
//! the two meet. The wear rate itself is in the parent.

use std::fmt;

use thiserror::Error;

use crate::exposure::{ArcTime, Driver, Grinds};
use crate::special;

/// What one part at one site in one group of people has seen.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Evidence {
    /// Pieces used. Late corrections may take it below zero for a while; that counts as none.
    pub events: i64,
    /// Of those, pieces that were found missing at counts.
    pub counted: i64,
    /// Arc time logged, in seconds.
    pub arc_seconds: i64,
    /// Of that, what an arc timer told.
    pub counter_seconds: i64,
    /// Of that, what cylinder swaps told.
    pub cylinder_seconds: i64,
    /// Grinds logged.
    pub grinds: i64,
    /// Weeks from the first record to the time of asking.
    pub weeks: f64,
    /// Student-days taught.
    pub student_days: i64,
}

impl Evidence {
    /// Pieces used, none if the sum is below zero.
    pub fn used(&self) -> u64 {
        u64::try_from(self.events).unwrap_or(0)
    }

    /// The rung that what is logged of a driver stands on: of arc time, the source of the largest
    /// share; of weeks, whether most pieces were taken or only found missing.
    fn rung(&self, driver: Driver) -> Rung {
        let typed = self.arc_seconds - self.counter_seconds - self.cylinder_seconds;
        match driver {
            Driver::ArcTime if self.counter_seconds >= typed.max(self.cylinder_seconds) => {
                Rung::Counter
            }
            Driver::ArcTime if self.cylinder_seconds > typed => Rung::CylinderSwap,
            Driver::ArcTime | Driver::StudentDays => Rung::TypedEstimate,
            Driver::Grinds => Rung::Grinds,
            Driver::Weeks if self.counted > self.events - self.counted => Rung::Counts,
            Driver::Weeks => Rung::Withdrawals,
        }
    }

    /// The exposure seen under a driver, in its unit; 0 where none is logged.
    pub fn exposure(&self, driver: Driver) -> f64 {
        let whole = |number: i64| special::real(u64::try_from(number).unwrap_or(0));
        match driver {
            Driver::ArcTime => whole(self.arc_seconds) / 3600.0,
            Driver::Grinds => whole(self.grinds),
            Driver::StudentDays => whole(self.student_days),
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
    /// Its student-days.
    pub student_days: Option<u32>,
}

impl JobSize {
    /// The exposure to come under a driver, in its unit. A number of weeks that
    /// is negative or not finite is as good as none.
    pub fn exposure(&self, driver: Driver) -> Option<f64> {
        match driver {
            Driver::ArcTime => self.arc.map(ArcTime::hours),
            Driver::Grinds => self.grinds.map(|grinds| f64::from(grinds.get())),
            Driver::StudentDays => self.student_days.map(f64::from),
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
    if sized_by == [Driver::StudentDays] {
        return "no student-days logged; log those of past courses with the parts that they used"
            .to_owned();
    }
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
/// From the firmest down: student-days or arc time given and logged (rungs 1 to 3, by where most of
/// the arc time is known from), grinds given and logged (rung 4), weeks given and at least some time
/// since the first record (rung 5, or 6 if most pieces were only found missing at counts). If pieces
/// were used but no such driver fits, there is no rate to be had. If none were used, the first driver
/// given stands on its starting assumption (rung 7).
///
/// # Errors
/// [`NoEvidence`] with what to log or give.
pub fn choose(evidence: &Evidence, size: &JobSize) -> Result<(Rung, Driver), NoEvidence> {
    const LADDER: [Driver; 4] = [
        Driver::StudentDays,
        Driver::ArcTime,
        Driver::Grinds,
        Driver::Weeks,
    ];
    let given = || {
        LADDER
            .into_iter()
            .filter(|driver| size.exposure(*driver).is_some())
    };
    let own = given().find(|driver| evidence.exposure(*driver) > 0.0);
    if let Some(driver) = own {
        return Ok((evidence.rung(driver), driver));
    }
    let first = given().next().ok_or(NoEvidence::NoSize)?;
    if evidence.used() == 0 {
        return Ok((Rung::Assumption, first));
    }
    let sized_by = given().collect();
    Err(NoEvidence::NotLogged {
        used: evidence.used(),
        sized_by,
    })
}
