//! A course: how large it is in student-days, what one of them costs, and how many ground electrodes
//! to lay ready at each station. How parts wear under beginners is in [`wear`](crate::wear); the
//! chance that nobody stops for a part is in [`job`](crate::job).

use thiserror::Error;

use crate::predictive::{NegativeBinomial, PredictiveError};
use crate::shared_factor::{Node, SharedFactor};
use crate::special::real;
use crate::wear::{Gamma, GammaError};

#[cfg(test)]
mod tests;

/// Grinds in a student-day until a shop has logged its own: four, worth one student-day of
/// evidence. Invented.
pub const GRINDS_PER_STUDENT_DAY: Gamma = Gamma::written(4.0, 1.0);

/// Minutes between two visits to the grinder unless told. Invented.
pub const MINUTES_BETWEEN_VISITS: u32 = 60;

/// Minutes at the torch in a day of a course unless told. Invented.
pub const MINUTES_A_DAY: u32 = 360;

/// How sure a rate is that somebody states: a spread of 20 %, which is a shape of 25. Invented.
const STATED_SHAPE: f64 = 25.0;

/// How large a course is.
///
/// ```
/// use tigstock_domain::course::CourseSize;
/// let weekend = CourseSize::new(12, 2, 6)?;
/// assert_eq!(weekend.student_days(), 24);
/// # Ok::<(), tigstock_domain::course::CourseError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct CourseSize {
    heads: u32,
    days: u32,
    stations: u32,
}

/// Why a course cannot be planned.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum CourseError {
    /// No students, or more than any course has.
    #[error("{0} students are out of range; give 1 to {max}", max = CourseSize::HEADS_MAX)]
    Heads(i64),
    /// No day, or more than any course has.
    #[error("{0} days are out of range; give 1 to {max}", max = CourseSize::DAYS_MAX)]
    Days(i64),
    /// No station, or more than any school has.
    #[error(
        "{0} stations are out of range; give 1 to {max}",
        max = CourseSize::STATIONS_MAX
    )]
    Stations(i64),
    /// More stations than students.
    #[error("{stations} stations for {heads} students; give no more stations than students")]
    EmptyStations {
        /// The stations.
        stations: u32,
        /// The students.
        heads: u32,
    },
    /// A stated rate of grinds that is not one.
    #[error("{0} grinds in a student-day are out of range; give a number above 0, up to 1000")]
    Grinds(f64),
    /// A time between visits to the grinder that does not fit into a day.
    #[error(
        "{between} minutes between visits to the grinder do not fit a day of {day} minutes; give 5 to {day}"
    )]
    Between {
        /// The minutes between two visits.
        between: u32,
        /// The minutes of a day.
        day: u32,
    },
    /// A day that is none.
    #[error("a day of {0} minutes at the torch is out of range; give 30 to 1440")]
    Day(u32),
    /// The figures are beyond what can be computed.
    #[error(transparent)]
    Rate(#[from] GammaError),
    /// The same, of the use in a session.
    #[error(transparent)]
    Use(#[from] PredictiveError),
}

impl CourseSize {
    /// The most students.
    pub const HEADS_MAX: i64 = 1_000;
    /// The most days.
    pub const DAYS_MAX: i64 = 366;
    /// The most stations.
    pub const STATIONS_MAX: i64 = 500;

    /// A course of so many students on so many days at so many stations.
    ///
    /// # Errors
    /// [`CourseError`] for a number that is out of range, or more stations than students.
    pub fn new(heads: i64, days: i64, stations: i64) -> Result<Self, CourseError> {
        let within = |value: i64, max: i64| {
            u32::try_from(value)
                .ok()
                .filter(|_| (1..=max).contains(&value))
        };
        let heads = within(heads, Self::HEADS_MAX).ok_or(CourseError::Heads(heads))?;
        let days = within(days, Self::DAYS_MAX).ok_or(CourseError::Days(days))?;
        let stations =
            within(stations, Self::STATIONS_MAX).ok_or(CourseError::Stations(stations))?;
        if stations > heads {
            return Err(CourseError::EmptyStations { stations, heads });
        }
        Ok(Self {
            heads,
            days,
            stations,
        })
    }

    /// How many students.
    pub fn heads(self) -> u32 {
        self.heads
    }

    /// How many days.
    pub fn days(self) -> u32 {
        self.days
    }

    /// How many stations.
    pub fn stations(self) -> u32 {
        self.stations
    }

    /// Students times days: what beginners are counted by.
    pub fn student_days(self) -> u32 {
        self.heads * self.days
    }

    /// The students at the fullest station.
    pub fn students_at_a_station(self) -> u32 {
        self.heads.div_ceil(self.stations)
    }
}

/// What a sum is for each student-day, in the same minor units, to the nearest one.
///
/// ```
/// use tigstock_domain::course::{CourseSize, per_student_day};
/// assert_eq!(per_student_day(14_230, CourseSize::new(12, 2, 6)?), 593);
/// # Ok::<(), tigstock_domain::course::CourseError>(())
/// ```
pub fn per_student_day(minor: i64, size: CourseSize) -> i64 {
    let days = i64::from(size.student_days());
    (minor + days / 2).div_euclid(days)
}

/// A rate of grinds in a student-day as somebody states it, taken to be right within a spread of
/// 20 %.
///
/// # Errors
/// [`CourseError::Grinds`] outside 0 (not itself) to 1000.
pub fn stated_grinds(per_student_day: f64) -> Result<Gamma, CourseError> {
    if !(per_student_day > 0.0 && per_student_day <= 1_000.0) {
        return Err(CourseError::Grinds(per_student_day));
    }
    Gamma::new(STATED_SHAPE, STATED_SHAPE / per_student_day).map_err(CourseError::from)
}

/// How the work at a station is interrupted by the grinder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grinding {
    /// Grinds in a student-day.
    pub rate: Gamma,
    /// Minutes from one visit to the grinder to the next, when all blunt electrodes of a station go
    /// there together.
    pub minutes_between: u32,
    /// Minutes at the torch in a day.
    pub minutes_a_day: u32,
}

/// How many ground electrodes to lay ready at each station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RackPlan {
    /// Ground electrodes in the rack of each station, beside the one in its torch.
    pub each: u64,
    /// The same for all stations together.
    pub all: u64,
    /// How many electrodes a station blunts between two visits, on average.
    pub expected: f64,
    /// The chance that a rack lasts from one visit to the next.
    pub chance: f64,
    /// From visit to visit so many times in the whole course, at each station.
    pub sessions: u32,
    /// How many times, on average, somewhere in the whole course a rack is empty before the visit.
    pub empty_expected: f64,
}

/// How many ground electrodes lie ready at each station, so that a student who has blunted one takes
/// the next instead of queueing at the grinder: the smallest number that lasts from one visit to the
/// next with the chance `target`.
///
/// What a station blunts in a session is a Poisson count over T = students at the station x minutes
/// between visits / minutes of a day, at a rate that is gamma distributed and, for the whole course,
/// times the clumsiness that its students share: a negative binomial mixed over that factor. A rack
/// is for one station and one session; `sessions` = days x sessions of a day tells how often that
/// is.
///
/// # Errors
/// [`CourseError`]: minutes out of range, or a rate beyond what can be computed.
pub fn rack_plan(
    size: CourseSize,
    grinding: &Grinding,
    clumsiness: SharedFactor,
    target: f64,
) -> Result<RackPlan, CourseError> {
    let (between, day) = (grinding.minutes_between, grinding.minutes_a_day);
    if !(30..=1_440).contains(&day) {
        return Err(CourseError::Day(day));
    }
    if !(5..=day).contains(&between) {
        return Err(CourseError::Between { between, day });
    }
    let exposure = f64::from(size.students_at_a_station()) * f64::from(between) / f64::from(day);
    let uses: Vec<(f64, NegativeBinomial)> = clumsiness
        .nodes()
        .iter()
        .map(|Node { factor, weight }| Ok((*weight, grinding.rate.predictive(exposure * factor)?)))
        .collect::<Result<_, PredictiveError>>()?;
    let lasts = |rack: u64| -> f64 {
        let chances = uses.iter().map(|(weight, uses)| weight * uses.cdf(rack));
        chances.sum()
    };
    let each = smallest(target, lasts);
    let sessions = size.days() * day.div_ceil(between);
    let chance = lasts(each).min(1.0);
    let places = f64::from(sessions) * f64::from(size.stations());
    Ok(RackPlan {
        each,
        all: each * u64::from(size.stations()),
        expected: uses.iter().map(|(weight, uses)| weight * uses.mean()).sum(),
        chance,
        sessions,
        empty_expected: places * (1.0 - chance),
    })
}

/// The most electrodes that a rack is planned for.
const RACK_MAX: u64 = 10_000;

/// The smallest number that lasts with the target chance, found by doubling and halving.
fn smallest(target: f64, lasts: impl Fn(u64) -> f64) -> u64 {
    if lasts(0) >= target {
        return 0;
    }
    let (mut short, mut enough) = (0, 1);
    while enough < RACK_MAX && lasts(enough) < target {
        (short, enough) = (enough, enough * 2);
    }
    while enough - short > 1 {
        let middle = short + (enough - short) / 2;
        if lasts(middle) >= target {
            enough = middle;
        } else {
            short = middle;
        }
    }
    enough
}

/// What an expected use is worth, in minor units, to the nearest one: pieces times the price of a
/// pack over its size. A pack below 1 counts as 1; what is no number or beyond 64 bits is worth 0.
///
/// ```
/// // 20.3 of a pack of 10 for 42.00 are 85.29.
/// assert_eq!(tigstock_domain::course::worth(33.0 * 24.0 / 39.0, 4_200, 10), 8_529);
/// ```
pub fn worth(expected: f64, pack_minor: i64, pack_size: i64) -> i64 {
    let price = real(u64::try_from(pack_minor).unwrap_or(0));
    let size = real(u64::try_from(pack_size.max(1)).unwrap_or(1));
    let minor = crate::special::count_at_or_below(expected * price / size + 0.5);
    i64::try_from(minor).unwrap_or(0)
}
