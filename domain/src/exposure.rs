//! What wears a part: arc time, grinds and weeks, and how a welder writes them. How fast a part
//! wears under them is in [`wear`](crate::wear).

use std::fmt;

use thiserror::Error;

use crate::named::named;

named! {
    /// The driver a wear rate is counted by.
    Driver, "driver" {
        /// Arc time, in hours.
        ArcTime = "arc-hour",
        /// Grinds, in grinds.
        Grinds = "grind",
        /// Calendar time, in weeks.
        Weeks = "week",
        /// Teaching, in student-days: heads times days.
        StudentDays = "student-day",
    }
}

named! {
    /// Where a piece of arc time is known from; without one it was typed after the session.
    ArcSource, "source of arc time" {
        /// The arc timer of the power source.
        Counter = "counter",
        /// Cylinder swaps: what flowed, over the flow.
        Cylinder = "cylinder",
    }
}

impl Driver {
    /// The noun of one unit: `arc hour`, `grind`, `week`.
    pub fn noun(self) -> &'static str {
        match self {
            Self::ArcTime => "arc hour",
            Self::Grinds => "grind",
            Self::Weeks => "week",
            Self::StudentDays => "student-day",
        }
    }

    /// The noun after any number but one.
    pub fn plural(self) -> &'static str {
        match self {
            Self::ArcTime => "arc hours",
            Self::Grinds => "grinds",
            Self::Weeks => "weeks",
            Self::StudentDays => "student-days",
        }
    }
}

/// Arc time in whole seconds, at most 100 000 hours.
///
/// ```
/// use tigstock_domain::exposure::ArcTime;
/// assert_eq!(ArcTime::parse("1h20")?.seconds(), 4_800);
/// assert_eq!(ArcTime::parse("75m")?.to_string(), "1 h 15 min");
/// assert!(ArcTime::parse("75").is_err()); // minutes or grinds? It must say.
/// # Ok::<(), tigstock_domain::exposure::ExposureError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct ArcTime(u32);

/// A number of grinds, at most 1 000 000.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Grinds(u32);

/// Why a text or a number is not an exposure.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ExposureError {
    /// A number without its unit, which could be minutes or grinds.
    #[error("{0} has no unit; write {0}m for minutes of arc time or {0}g for grinds")]
    NoUnit(String),
    /// Not readable as arc time.
    #[error("{0} is not arc time; write it as 75m, 1h20 or 1.5h")]
    NotArcTime(String),
    /// Not readable as grinds.
    #[error("{0} is not a number of grinds; write it as 3g")]
    NotGrinds(String),
    /// Negative, or larger than anything a shop will log.
    #[error("{what} must be from 0 to {max}, not {value}")]
    OutOfRange {
        /// What was given, with its unit.
        what: &'static str,
        /// The number given.
        value: i64,
        /// The largest number taken.
        max: i64,
    },
}

impl ArcTime {
    /// The longest arc time, in seconds: 100 000 hours.
    pub const SECONDS_MAX: i64 = 360_000_000;

    /// Arc time of so many seconds.
    ///
    /// # Errors
    /// [`ExposureError::OutOfRange`] below 0 or above [`SECONDS_MAX`](Self::SECONDS_MAX).
    pub fn from_seconds(seconds: i64) -> Result<Self, ExposureError> {
        let out = ExposureError::OutOfRange {
            what: "seconds of arc time",
            value: seconds,
            max: Self::SECONDS_MAX,
        };
        if seconds > Self::SECONDS_MAX {
            return Err(out);
        }
        u32::try_from(seconds).map(Self).map_err(|_| out)
    }

    /// Reads `75m`, `1h20`, `1h20m`, `34h`, `1.5h`, and the form that is printed, `1 h 20 min`.
    /// A fraction of a second is rounded to the nearest second.
    ///
    /// # Errors
    /// [`ExposureError`]: a number without a unit, another text, or out of range.
    pub fn parse(text: &str) -> Result<Self, ExposureError> {
        let text = text.trim();
        let shown = || text.chars().take(40).collect::<String>();
        if !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b'.') {
            return Err(ExposureError::NoUnit(shown()));
        }
        let seconds = seconds_of(text).ok_or_else(|| ExposureError::NotArcTime(shown()))?;
        Self::from_seconds(seconds)
    }

    /// The arc time in seconds.
    pub fn seconds(self) -> i64 {
        i64::from(self.0)
    }

    /// The arc time in hours, for computation.
    pub fn hours(self) -> f64 {
        f64::from(self.0) / 3600.0
    }
}

/// Adds up `1h`, `20m`, `30s` in falling order; a last figure after hours may go without its unit.
fn seconds_of(text: &str) -> Option<i64> {
    let squeezed: String = text
        .chars()
        .filter(|c| !c.is_whitespace())
        .flat_map(char::to_lowercase)
        .collect();
    let mut rest = squeezed.as_str();
    let (mut total, mut last_unit) = (0_i64, i64::MAX);
    while !rest.is_empty() {
        let end = rest
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .unwrap_or(rest.len());
        let (figure, after) = rest.split_at(end);
        let (unit, after) = match after {
            "" if last_unit == 3600 => (60, ""),
            _ => [("h", 3600), ("min", 60), ("m", 60), ("s", 1)]
                .into_iter()
                .find_map(|(name, unit)| after.strip_prefix(name).map(|after| (unit, after)))?,
        };
        if unit >= last_unit {
            return None;
        }
        total = total.checked_add(rounded_multiple(figure, unit)?)?;
        (rest, last_unit) = (after, unit);
    }
    (last_unit < i64::MAX).then_some(total)
}

/// A decimal with at most six places times `factor`, to the nearest whole number.
fn rounded_multiple(figure: &str, factor: i64) -> Option<i64> {
    let (whole, part) = figure.split_once('.').unwrap_or((figure, ""));
    let is_number = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    if !is_number(whole) || (figure.contains('.') && !is_number(part)) || part.len() > 6 {
        return None;
    }
    let millionths: i64 = format!("{whole}{part:0<6}").parse().ok()?;
    Some((millionths.checked_mul(factor)?.checked_add(500_000)?) / 1_000_000)
}

impl fmt::Display for ArcTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (hours, minutes, seconds) = (self.0 / 3600, self.0 / 60 % 60, self.0 % 60);
        let mut pieces = Vec::with_capacity(3);
        if hours > 0 {
            pieces.push(format!("{hours} h"));
        }
        if minutes > 0 || self.0 == 0 {
            pieces.push(format!("{minutes} min"));
        }
        if seconds > 0 {
            pieces.push(format!("{seconds} s"));
        }
        f.write_str(&pieces.join(" "))
    }
}

impl Grinds {
    /// The largest number of grinds in one entry or job.
    pub const MAX: i64 = 1_000_000;

    /// So many grinds.
    ///
    /// # Errors
    /// [`ExposureError::OutOfRange`] below 0 or above [`MAX`](Self::MAX).
    pub fn new(grinds: i64) -> Result<Self, ExposureError> {
        let out = ExposureError::OutOfRange {
            what: "grinds",
            value: grinds,
            max: Self::MAX,
        };
        if grinds > Self::MAX {
            return Err(out);
        }
        u32::try_from(grinds).map(Self).map_err(|_| out)
    }

    /// Reads `3g`.
    ///
    /// # Errors
    /// [`ExposureError`]: a number without a unit, another text, or out of range.
    pub fn parse(text: &str) -> Result<Self, ExposureError> {
        let text = text.trim();
        let shown = || text.chars().take(40).collect::<String>();
        let is_number = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
        if is_number(text) {
            return Err(ExposureError::NoUnit(shown()));
        }
        let figure = text
            .strip_suffix(['g', 'G'])
            .map(str::trim_end)
            .filter(|t| is_number(t));
        let figure = figure.ok_or_else(|| ExposureError::NotGrinds(shown()))?;
        figure
            .parse()
            .map_err(|_| ExposureError::NotGrinds(shown()))
            .and_then(Self::new)
    }

    /// The number itself.
    pub fn get(self) -> u32 {
        self.0
    }
}

impl fmt::Display for Grinds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} {}",
            self.0,
            if self.0 == 1 { "grind" } else { "grinds" }
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arc_time_reads_as_welders_write_it() {
        let read = [
            ("75m", 4_500),
            ("1h20", 4_800),
            ("1h20m", 4_800),
            ("1 h 20 min", 4_800),
            ("34h", 122_400),
            ("1.5h", 5_400),
            ("0m", 0),
            ("90 MIN", 5_400),
        ];
        for (text, seconds) in read {
            assert_eq!(
                ArcTime::parse(text).map(ArcTime::seconds),
                Ok(seconds),
                "{text}"
            );
        }
    }

    #[test]
    fn a_bare_number_is_never_read_as_minutes_or_as_grinds() {
        assert_eq!(
            ArcTime::parse("75"),
            Err(ExposureError::NoUnit("75".to_owned()))
        );
        assert_eq!(
            Grinds::parse("75"),
            Err(ExposureError::NoUnit("75".to_owned()))
        );
        assert_eq!(Grinds::parse("3g").map(Grinds::get), Ok(3));
    }

    #[test]
    fn what_is_not_arc_time_is_refused() {
        for text in [
            "", "h", "1h2h", "20m1h", "1.h", "-5m", "3g", "1h20x", "1.2.3h", "20m5",
        ] {
            assert!(ArcTime::parse(text).is_err(), "{text}");
        }
        let long = "9".repeat(40) + "h";
        assert!(ArcTime::parse(&long).is_err());
        assert!(Grinds::parse("3m").is_err() && Grinds::parse("99999999999999999999g").is_err());
    }

    #[test]
    fn what_is_printed_reads_back() {
        for seconds in [0, 1, 59, 60, 61, 3_600, 3_601, 4_800, 122_400, 360_000_000] {
            let time = ArcTime::from_seconds(seconds).expect("arc time");
            assert_eq!(ArcTime::parse(&time.to_string()), Ok(time));
        }
        assert!(ArcTime::from_seconds(-1).is_err());
        assert!(ArcTime::from_seconds(360_000_001).is_err());
    }
}
