//! What a part has on record day by day, and what it is worn by. What follows for the days to come is in
//! `to_come`.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use domain::exposure::Driver;
use domain::part::PartKind;
use domain::review::{Day, Drivers, Use, Work, fill_grinds, share_out, weekday_means};
use domain::wear::Gamma;
use domain::wear::discounted::ByCalendar;
use types::DEFAULT_GROUP;

use super::fault;
use crate::service::{Error, instant};
use crate::store::entity::{parts as part_rows, wear_days};

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

/// A starting assumption, and whose it is.
pub(super) type Assumed = (Driver, Gamma, &'static str);

/// What a part has on record.
pub(super) struct Record {
    pub(super) drivers: Vec<Driver>,
    /// What is assumed of each driver.
    pub(super) assumptions: Vec<Assumed>,
    pub(super) assumed: Drivers,
    pub(super) groups: Vec<String>,
    first: i64,
    /// Each group's days, from `first` to yesterday.
    pub(super) days: Vec<Vec<Day>>,
    /// Use by groups that have no work on record.
    pub(super) besides: Vec<Besides>,
    /// Arc minutes of a normal week, if they are stated.
    pub(super) week: Option<f64>,
}

/// Use by a group that has no work on record: it goes by the calendar.
#[derive(Debug)]
pub(super) struct Besides {
    pub(super) group: String,
    pub(super) used: u64,
    pub(super) known: ByCalendar,
}

impl Record {
    /// The record of a part, or why there is nothing to go by. `own` tells the starting assumption by a
    /// driver.
    pub(super) fn of(
        (part, rows): (&part_rows::Model, &[wear_days::Model]),
        own: &impl Fn(Driver) -> Result<(Gamma, &'static str), Error>,
        today: NaiveDate,
        week: Option<f64>,
    ) -> Result<Result<Self, String>, Error> {
        let kind =
            PartKind::parse(&part.kind).map_err(|error| Error::Internal(error.to_string()))?;
        let is_work = |row: &&wear_days::Model| row.student_days == 0;
        let rows: Vec<&wear_days::Model> = rows.iter().filter(is_work).collect();
        let yesterday = number(today) - 1;
        let first = match (rows.first(), week) {
            (Some(row), _) => row.day,
            // A stated pace and the starting assumption are enough to go by.
            (None, Some(_)) => yesterday + 1,
            (None, None) => return Ok(Err(NOTHING_LOGGED.to_owned())),
        };
        let drivers = match drivers(kind, &rows, week) {
            Ok(drivers) => drivers,
            Err(why) => return Ok(Err(why.to_owned())),
        };
        if yesterday < first && week.is_none() {
            return Ok(Err(FIRST_DAY.to_owned()));
        }
        let mut assumptions = Vec::new();
        for driver in &drivers {
            let (gamma, source) = own(*driver)?;
            assumptions.push((*driver, gamma, source));
        }
        let mut record = Self {
            assumed: match assumptions[..] {
                [(_, arc, _), (_, grinds, _)] => both(arc, grinds)?,
                [(_, one, _), ..] => Drivers::First(one),
                [] => return Err(Error::Internal(format!("{} has no driver", part.code))),
            },
            drivers,
            assumptions,
            groups: Vec::new(),
            first,
            days: Vec::new(),
            besides: Vec::new(),
            week,
        };
        record.read(&rows, yesterday, own(Driver::Weeks)?.0);
        if record.groups.is_empty() {
            record.groups.push(DEFAULT_GROUP.to_owned());
            record.days.push(Vec::new());
        }
        Ok(Ok(record))
    }

    fn read(&mut self, rows: &[&wear_days::Model], yesterday: i64, by_week: Gamma) {
        let by_calendar = self.drivers == [Driver::Weeks];
        let by_both = self.drivers.len() == 2;
        let groups: BTreeSet<&str> = rows.iter().map(|row| row.operator_group.as_str()).collect();
        let length = usize::try_from(yesterday - self.first + 1).unwrap_or(0);
        for group in groups {
            let mut days = vec![Day::default(); length];
            let mut net = vec![0_i64; length];
            for row in rows.iter().filter(|row| row.operator_group == group) {
                let at = usize::try_from(row.day - self.first).ok();
                let Some(at) = at.filter(|at| *at < length) else {
                    continue;
                };
                days[at].main += match self.drivers[0] {
                    Driver::Grinds => real(row.grinds),
                    Driver::ArcTime | Driver::Weeks | Driver::StudentDays => {
                        real(row.arc_seconds) / 3_600.0
                    }
                };
                if by_both {
                    days[at].grinds += u64::try_from(row.grinds).unwrap_or(0);
                }
                net[at] += row.events;
            }
            let idle = days.iter().all(|day| day.main <= 0.0 && day.grinds == 0);
            let has_used = net.iter().sum::<i64>() > 0;
            if by_calendar || (idle && has_used) {
                for day in &mut days {
                    day.main = 1.0 / 7.0;
                }
            }
            if self.drivers.len() == 2 {
                fill_grinds(&mut days);
            }
            share_out(&mut days, &net);
            if idle && has_used && !by_calendar {
                self.besides.push(Besides {
                    group: group.to_owned(),
                    used: days.iter().map(|day| day.used).sum(),
                    known: week_by_week(&[days], by_week),
                });
                continue;
            }
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

/// What a part is worn by, by what is on record; or why that cannot be told.
fn drivers(
    kind: PartKind,
    rows: &[&wear_days::Model],
    week: Option<f64>,
) -> Result<Vec<Driver>, &'static str> {
    let has_arc = rows.iter().any(|row| row.arc_seconds > 0);
    let has_grinds = rows.iter().any(|row| row.grinds > 0);
    let by_both = matches!(kind, PartKind::Electrode | PartKind::Collet);
    match (has_arc, has_grinds) {
        (true, true) if by_both => Ok(vec![Driver::ArcTime, Driver::Grinds]),
        (true, _) => Ok(vec![Driver::ArcTime]),
        (false, _) if week.is_some() && rows.is_empty() => Ok(vec![Driver::ArcTime]),
        (false, _) if week.is_some() => Err(NO_ARC),
        (false, true) => Ok(vec![Driver::Grinds]),
        (false, false) => Ok(vec![Driver::Weeks]),
    }
}

/// What is known by the calendar after these days of all groups: whole weeks up to yesterday; what is
/// before the first of them is too little to tell.
pub(super) fn week_by_week(days: &[Vec<Day>], assumed: Gamma) -> ByCalendar {
    let mut known = ByCalendar::new(assumed);
    let length = days.first().map_or(0, Vec::len);
    for begin in (length % WEEK..length).step_by(WEEK) {
        let week = days.iter().flat_map(|days| &days[begin..begin + WEEK]);
        known.observe(week.map(|day| day.used).sum(), 1.0);
    }
    known
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
