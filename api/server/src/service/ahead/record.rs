//! What a part has on record day by day, and what it is worn by. What follows for the days to come is in
//! `to_come`.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use domain::assumption::starting_assumption;
use domain::exposure::Driver;
use domain::part::PartKind;
use domain::review::{Day, Drivers, Use, Work, share_out, weekday_means};
use domain::wear::Gamma;
use types::DEFAULT_GROUP;

use super::fault;
use crate::service::{Error, instant, parts};
use crate::store::entity::{parts as part_rows, starting_assumptions, wear_days};

/// As far back as days are read.
const DAYS_BACK: i64 = 3 * 366;
/// The pace of normal work is that of so many days.
const RECENT: usize = 26 * 7;
pub(super) const WEEK: usize = 7;

/// Why nothing can be told, and what to do.
const NOTHING_LOGGED: &str = "nothing of it was logged yet; log its use, or ask for the use of a given amount of \
                              work with arc, grinds or weeks";
const FIRST_DAY: &str =
    "its first day is not over; ask again tomorrow, or for the use of a given amount of work";
const NO_ARC: &str = "it was used over no arc time that is on record, so a week told in arc time says nothing of it; \
                      leave out the week, or log arc time";

/// The number of the first day that is read.
pub(super) fn first_day(today: NaiveDate) -> i64 {
    number(today) - DAYS_BACK
}

fn number(day: NaiveDate) -> i64 {
    (day - NaiveDate::default()).num_days()
}

/// What a part has on record.
pub(super) struct Record {
    pub(super) drivers: Vec<Driver>,
    pub(super) assumed: Drivers,
    pub(super) groups: Vec<String>,
    first: i64,
    /// Each group's days, from `first` to yesterday.
    pub(super) days: Vec<Vec<Day>>,
    /// Arc minutes of a normal week, if they are stated.
    pub(super) week: Option<f64>,
}

impl Record {
    /// The record of a part, or why there is nothing to go by.
    pub(super) fn of(
        part: &part_rows::Model,
        rows: &[wear_days::Model],
        (assumptions, today): (&[starting_assumptions::Model], NaiveDate),
        week: Option<f64>,
    ) -> Result<Result<Self, String>, Error> {
        let kind =
            PartKind::parse(&part.kind).map_err(|error| Error::Internal(error.to_string()))?;
        let own = |driver| {
            let own = parts::own_assumption(assumptions, part.id, driver);
            own.unwrap_or_else(|| starting_assumption(kind, driver))
        };
        let is_work = |row: &&wear_days::Model| row.student_days == 0;
        let rows: Vec<&wear_days::Model> = rows.iter().filter(is_work).collect();
        let yesterday = number(today) - 1;
        let first = match (rows.first(), week) {
            (Some(row), _) => row.day,
            // A stated pace and the starting assumption are enough to go by.
            (None, Some(_)) => yesterday + 1,
            (None, None) => return Ok(Err(NOTHING_LOGGED.to_owned())),
        };
        let arc: i64 = rows.iter().map(|row| row.arc_seconds).sum();
        let grinds: i64 = rows.iter().map(|row| row.grinds).sum();
        let by_both = matches!(kind, PartKind::Electrode | PartKind::Collet);
        let (drivers, assumed) = match (arc > 0, grinds > 0) {
            (true, true) if by_both => (
                vec![Driver::ArcTime, Driver::Grinds],
                both(own(Driver::ArcTime), own(Driver::Grinds))?,
            ),
            (true, _) => (vec![Driver::ArcTime], Drivers::First(own(Driver::ArcTime))),
            (false, _) if week.is_some() && rows.is_empty() => {
                (vec![Driver::ArcTime], Drivers::First(own(Driver::ArcTime)))
            }
            (false, _) if week.is_some() => return Ok(Err(NO_ARC.to_owned())),
            (false, true) => (vec![Driver::Grinds], Drivers::First(own(Driver::Grinds))),
            (false, false) => (vec![Driver::Weeks], Drivers::First(own(Driver::Weeks))),
        };
        if yesterday < first && week.is_none() {
            return Ok(Err(FIRST_DAY.to_owned()));
        }
        let mut record = Self {
            drivers,
            assumed,
            groups: Vec::new(),
            first,
            days: Vec::new(),
            week,
        };
        record.read(&rows, yesterday);
        if record.groups.is_empty() {
            record.groups.push(DEFAULT_GROUP.to_owned());
            record.days.push(Vec::new());
        }
        Ok(Ok(record))
    }

    fn read(&mut self, rows: &[&wear_days::Model], yesterday: i64) {
        let by_calendar = self.drivers == [Driver::Weeks];
        let groups: BTreeSet<&str> = rows.iter().map(|row| row.operator_group.as_str()).collect();
        let length = usize::try_from(yesterday - self.first + 1).unwrap_or(0);
        for group in groups {
            let mut days = vec![Day::default(); length];
            let mut net = vec![0_i64; length];
            for row in rows.iter().filter(|row| row.operator_group == group) {
                let Some(at) = usize::try_from(row.day - self.first)
                    .ok()
                    .filter(|at| *at < length)
                else {
                    continue;
                };
                days[at].main += match self.drivers[0] {
                    Driver::Grinds => real(row.grinds),
                    Driver::ArcTime | Driver::Weeks | Driver::StudentDays => {
                        real(row.arc_seconds) / 3_600.0
                    }
                };
                days[at].grinds += u64::try_from(row.grinds).unwrap_or(0);
                net[at] += row.events;
            }
            if by_calendar {
                for day in &mut days {
                    day.main = 1.0 / 7.0;
                }
            }
            share_out(&mut days, &net);
            self.groups.push(group.to_owned());
            self.days.push(days);
        }
    }

    /// What was done and used on one of the days.
    pub(super) fn day(&self, at: usize) -> (Vec<Work>, Vec<Use>) {
        let (mut work, mut uses) = (Vec::new(), Vec::new());
        let by_both = self.drivers.len() == 2;
        for (group, days) in self.days.iter().enumerate() {
            let done = days[at];
            if done.main > 0.0 || (by_both && done.grinds > 0) {
                work.push(Work {
                    group,
                    first: done.main,
                    second: if by_both { done.grinds } else { 0 },
                });
            }
            if done.used > 0 {
                uses.push(Use {
                    group,
                    part: 0,
                    pieces: done.used,
                });
            }
        }
        (work, uses)
    }

    /// The mean of each weekday over the last half year, by group.
    pub(super) fn usual(&self) -> Vec<[f64; WEEK]> {
        let first = instant::day_of(self.first);
        let each = self
            .days
            .iter()
            .map(|days| weekday_means(days, first, RECENT));
        each.collect()
    }

    /// The main driver of each group, all in all.
    pub(super) fn logged(&self, groups: usize) -> Vec<f64> {
        let mut logged: Vec<f64> = self
            .days
            .iter()
            .map(|days| days.iter().map(|day| day.main).sum())
            .collect();
        logged.resize(groups, 0.0);
        logged
    }
}

/// Both drivers share what is assumed of each: half the pieces each.
fn both(arc: Gamma, grinds: Gamma) -> Result<Drivers, Error> {
    let half = |gamma: Gamma| {
        let shape = (gamma.shape() / 2.0).max(0.5);
        Gamma::new(shape, gamma.rate() * shape / (gamma.shape() / 2.0))
            .map_err(|error| fault(&error))
    };
    Ok(Drivers::Both(half(arc)?, half(grinds)?))
}

pub(super) fn real(number: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "an exposure, not a quantity")]
    let number = number as f64;
    number
}
