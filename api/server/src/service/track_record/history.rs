//! The history of a part, cut into weeks or months: what was used in each, and what the part was exposed
//! to. What follows from it is in the parent.

use chrono::{Datelike, Days, Months, NaiveDate};
use domain::exposure::Driver;
use domain::track_record::Period;
use domain::wear::Evidence;

use crate::service::instant::day_of;
use crate::store::entity::wear_days;

/// The most periods that are looked at.
pub(super) const PERIODS_MAX: u32 = 520;
const DAYS_PER_WEEK: u32 = 7;

/// Into what a history is cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Length {
    /// Weeks from Monday to Sunday.
    Week,
    /// Calendar months.
    Month,
}

impl Length {
    /// Reads `week` or `month`; a week unless told.
    pub(super) fn parse(word: Option<&str>) -> Result<Self, String> {
        match word {
            None | Some("week") => Ok(Self::Week),
            Some("month") => Ok(Self::Month),
            Some(other) => Err(format!("\"{other}\" is unknown; give week or month")),
        }
    }

    /// The word of the contract, which is the noun as well.
    pub(super) fn as_str(self) -> &'static str {
        match self {
            Self::Week => "week",
            Self::Month => "month",
        }
    }

    /// The first day of the period that a day lies in.
    fn begin(self, day: NaiveDate) -> NaiveDate {
        let passed = match self {
            Self::Week => day.weekday().num_days_from_monday(),
            Self::Month => day.day0(),
        };
        day - Days::new(u64::from(passed))
    }

    /// The first day so many periods after one that begins a period.
    pub(super) fn after(self, begin: NaiveDate, periods: u32) -> NaiveDate {
        let found = match self {
            Self::Week => {
                begin.checked_add_days(Days::new(u64::from(periods) * u64::from(DAYS_PER_WEEK)))
            }
            Self::Month => begin.checked_add_months(Months::new(periods)),
        };
        found.unwrap_or(begin)
    }

    /// The first day from which on periods are looked at that end before today.
    pub(super) fn earliest(self, today: NaiveDate) -> NaiveDate {
        let end = self.begin(today);
        let found = match self {
            Self::Week => end.checked_sub_days(Days::new(u64::from(PERIODS_MAX * DAYS_PER_WEEK))),
            Self::Month => end.checked_sub_months(Months::new(PERIODS_MAX)),
        };
        found.unwrap_or(end)
    }
}

/// The periods of a part, oldest first.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct History {
    /// The first day of the first one.
    pub(super) from: NaiveDate,
    /// Exposure and use of each.
    pub(super) periods: Vec<Period>,
}

impl History {
    /// From the first full period after the first record, or from the earliest that is looked at, to the
    /// last that is over today.
    ///
    /// The days are those of one part and group, oldest first. What was given back beyond what was used in a
    /// period counts as nothing used.
    pub(super) fn of(
        days: &[&wear_days::Model],
        driver: Driver,
        (since, today): (NaiveDate, NaiveDate),
        length: Length,
    ) -> Self {
        let begin = length.begin(since);
        let full = if begin == since {
            begin
        } else {
            length.after(begin, 1)
        };
        let from = full.max(length.earliest(today));
        let before = days.partition_point(|row| day_of(row.day) < from);
        let mut left = days.get(before..).unwrap_or_default();
        let mut periods = Vec::new();
        let mut begin = from;
        loop {
            let end = length.after(begin, 1);
            if end > today || end <= begin {
                break;
            }
            let (within, later) = left.split_at(left.partition_point(|row| day_of(row.day) < end));
            periods.push(period(within, driver, (end - begin).num_days()));
            (begin, left) = (end, later);
        }
        Self { from, periods }
    }
}

/// What was used on those days, and the exposure of the driver on them.
fn period(within: &[&wear_days::Model], driver: Driver, days: i64) -> Period {
    let mut seen = Evidence {
        weeks: f64::from(u32::try_from(days).unwrap_or(0)) / f64::from(DAYS_PER_WEEK),
        ..Evidence::default()
    };
    for row in within {
        seen.events = seen.events.saturating_add(row.events);
        seen.arc_seconds = seen.arc_seconds.saturating_add(row.arc_seconds);
        seen.grinds = seen.grinds.saturating_add(row.grinds);
        seen.student_days = seen.student_days.saturating_add(row.student_days);
    }
    Period {
        exposure: seen.exposure(driver),
        used: seen.used(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::service::known::nothing_on;

    fn day(text: &str) -> NaiveDate {
        text.parse().expect("a day")
    }

    fn row(on: &str, events: i64, arc_seconds: i64) -> wear_days::Model {
        let number = (day(on) - NaiveDate::default()).num_days();
        wear_days::Model {
            events,
            arc_seconds,
            ..nothing_on((1, 1), "own".to_owned(), number)
        }
    }

    fn cut(since: &str, today: &str, length: Length, rows: &[wear_days::Model]) -> History {
        let rows: Vec<&wear_days::Model> = rows.iter().collect();
        let days = (day(since), day(today));
        History::of(&rows, Driver::ArcTime, days, length)
    }

    // 1 June 2026 is a Monday.
    #[test]
    fn weeks_run_from_monday_and_only_whole_ones_count() {
        let rows = [
            row("2026-06-03", 9, 3_600),
            row("2026-06-08", 1, 7_200),
            row("2026-06-14", 2, 3_600),
            row("2026-06-15", 4, 0),
            row("2026-06-22", 8, 3_600),
        ];
        let history = cut("2026-06-03", "2026-06-22", Length::Week, &rows);
        assert_eq!(history.from, day("2026-06-08"));
        let periods = [(3.0, 3), (0.0, 4)].map(|(exposure, used)| Period { exposure, used });
        assert_eq!(history.periods, periods);
        // A record that begins on a Monday begins a whole week.
        let history = cut("2026-06-08", "2026-06-21", Length::Week, &rows);
        assert_eq!(
            (history.from, history.periods.len()),
            (day("2026-06-08"), 1)
        );
    }

    #[test]
    fn months_are_those_of_the_calendar() {
        let rows = [row("2028-02-29", 1, 3_600), row("2028-03-01", 2, 0)];
        let history = cut("2028-01-15", "2028-04-01", Length::Month, &rows);
        assert_eq!(history.from, day("2028-02-01"));
        let used: Vec<u64> = history.periods.iter().map(|period| period.used).collect();
        assert_eq!(used, [1, 2]);
    }

    #[test]
    fn without_another_driver_a_period_has_its_weeks() {
        let rows = [row("2027-02-10", 1, 0)];
        let rows: Vec<&wear_days::Model> = rows.iter().collect();
        let days = (day("2027-02-01"), day("2027-03-01"));
        let history = History::of(&rows, Driver::Weeks, days, Length::Month);
        let period = Period {
            exposure: 4.0,
            used: 1,
        };
        assert_eq!(history.periods, [period]);
    }

    #[test]
    fn what_is_given_back_counts_as_nothing_used_in_its_period() {
        let rows = [row("2026-06-02", -2, 0), row("2026-06-09", 3, 0)];
        let history = cut("2026-06-01", "2026-06-15", Length::Week, &rows);
        let used: Vec<u64> = history.periods.iter().map(|period| period.used).collect();
        assert_eq!(used, [0, 3]);
    }

    #[test]
    fn a_record_of_decades_is_cut_at_its_newest_520_periods() {
        for length in [Length::Week, Length::Month] {
            let history = cut("1960-01-01", "2026-06-15", length, &[]);
            assert_eq!(history.periods.len(), 520);
        }
        let empty = cut("2026-06-10", "2026-06-15", Length::Week, &[]);
        assert!(empty.periods.is_empty());
    }
}
