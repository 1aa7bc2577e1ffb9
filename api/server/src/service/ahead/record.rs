//! What a part has on record day by day, and how the outlook follows from it and from what is booked.

use std::collections::BTreeSet;

use chrono::{Datelike, NaiveDate};
use domain::assumption::starting_assumption;
use domain::exposure::Driver;
use domain::part::PartKind;
use domain::review::{Day, Drivers, Shop, Use, Work, share_out, weekday_means};
use domain::wear::Gamma;
use domain::wear::discounted::ByCalendar;
use types::BookedWork;

use super::outlook::{Outlook, UseToCome};
use super::plan::Booked;
use super::{HORIZON, Place, fault};
use crate::service::{Error, instant, parts};
use crate::store::entity::{parts as part_rows, starting_assumptions, wear_days};

/// As far back as days are read.
const DAYS_BACK: i64 = 3 * 366;
/// The pace of normal work is that of so many days.
const RECENT: usize = 26 * 7;
const WEEK: usize = 7;

/// The number of the first day that is read.
pub(super) fn first_day(today: NaiveDate) -> i64 {
    number(today) - DAYS_BACK
}

fn number(day: NaiveDate) -> i64 {
    (day - NaiveDate::default()).num_days()
}

/// What a part has on record.
pub(super) struct Record {
    drivers: Vec<Driver>,
    assumed: Drivers,
    groups: Vec<String>,
    first: i64,
    /// Each group's days, from `first` to yesterday.
    days: Vec<Vec<Day>>,
}

impl Record {
    /// The record of a part, or why there is nothing to go by.
    pub(super) fn of(
        part: &part_rows::Model,
        rows: &[&wear_days::Model],
        assumptions: &[starting_assumptions::Model],
        today: NaiveDate,
    ) -> Result<Result<Self, String>, Error> {
        let kind =
            PartKind::parse(&part.kind).map_err(|error| Error::Internal(error.to_string()))?;
        let own = |driver| {
            let own = parts::own_assumption(assumptions, part.id, driver);
            own.unwrap_or_else(|| starting_assumption(kind, driver))
        };
        let is_work = |row: &&&wear_days::Model| row.student_days == 0;
        let rows: Vec<&wear_days::Model> = rows.iter().filter(is_work).copied().collect();
        let Some(first) = rows.first().map(|row| row.day) else {
            let why = "nothing of it was logged yet; log its use, or ask for the use of a given amount of \
                       work with arc, grinds or weeks";
            return Ok(Err(why.to_owned()));
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
            (false, true) => (vec![Driver::Grinds], Drivers::First(own(Driver::Grinds))),
            (false, false) => (vec![Driver::Weeks], Drivers::First(own(Driver::Weeks))),
        };
        let yesterday = number(today) - 1;
        if yesterday < first {
            let why = "its first day is not over; ask again tomorrow, or for the use of a given amount of work";
            return Ok(Err(why.to_owned()));
        }
        let mut record = Self {
            drivers,
            assumed,
            groups: Vec::new(),
            first,
            days: Vec::new(),
        };
        record.read(&rows, yesterday);
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

    /// What follows for the days to come.
    pub(super) fn outlook(self, part: i64, place: &Place) -> Result<Outlook, Error> {
        let booked: Vec<&Booked> = place
            .booked
            .iter()
            .filter(|it| !it.is_course && it.uses(part))
            .collect();
        if self.drivers == [Driver::Weeks] {
            return self.by_calendar(place, &booked);
        }
        let mut groups = self.groups.clone();
        for work in &booked {
            if !groups.contains(&work.group) {
                groups.push(work.group.clone());
            }
        }
        let mut shop = Shop::new(&[self.assumed], groups.len()).map_err(|error| fault(&error))?;
        for at in 0..self.days.first().map_or(0, Vec::len) {
            let (work, uses) = self.day(at);
            shop.close_day(&work, &uses)
                .map_err(|error| fault(&error))?;
        }
        let usual = self.usual();
        let horizon = usize::try_from(HORIZON).unwrap_or(1);
        let mut plan = vec![vec![0.0; groups.len()]; horizon];
        for (at, (day, share)) in plan.iter_mut().zip(&place.shares).enumerate() {
            let weekday = weekday(place.today, at);
            for (group, usual) in usual.iter().enumerate() {
                day[group] = usual[weekday] * share;
            }
        }
        let normal = plan.clone();
        let mut told = Vec::new();
        for work in &booked {
            let size = work.size(self.drivers[0]);
            told.push(BookedWork {
                job: work.code.clone(),
                start: work.start,
                to_come: size,
            });
            let group = groups.iter().position(|group| *group == work.group);
            let (Some(size), Some(group), Some(begin)) = (size, group, work.begins_in(place.today))
            else {
                continue;
            };
            let length = work.length().min(horizon - begin.min(horizon - 1));
            for day in plan.iter_mut().skip(begin).take(length) {
                day[group] += size / real(i64::try_from(length).unwrap_or(1));
            }
        }
        let factors = shop.factors().map_err(|error| fault(&error))?;
        let factors = (0..groups.len())
            .map(|group| factors.product(&[group]))
            .collect();
        let ahead = shop.review(&plan).map_err(|error| fault(&error))?;
        Ok(Outlook {
            drivers: self.drivers.clone(),
            use_to_come: UseToCome::ByWork(Box::new(ahead)),
            logged: self.logged(groups.len()),
            groups,
            plan,
            normal,
            factors,
            told,
            today: place.today,
        })
    }

    fn by_calendar(self, place: &Place, booked: &[&Booked]) -> Result<Outlook, Error> {
        let Drivers::First(assumed) = self.assumed else {
            return Err(Error::Internal("two drivers of a calendar".to_owned()));
        };
        let mut known = ByCalendar::new(assumed);
        let length = self.days.first().map_or(0, Vec::len);
        // Whole weeks up to yesterday; what is before the first of them is too little to tell.
        let skipped = length % WEEK;
        for begin in (skipped..length).step_by(WEEK) {
            let week = self.days.iter().flat_map(|days| &days[begin..begin + WEEK]);
            known.observe(week.map(|day| day.used).sum(), 1.0);
        }
        let mut exposure: Vec<f64> = place.shares.iter().map(|share| share / 7.0).collect();
        let normal = exposure.iter().map(|day| vec![*day]).collect();
        let mut told = Vec::new();
        for work in booked {
            let size = work.size(Driver::Weeks);
            told.push(BookedWork {
                job: work.code.clone(),
                start: work.start,
                to_come: size,
            });
            let day = work
                .begins_in(place.today)
                .and_then(|day| exposure.get_mut(day));
            if let (Some(size), Some(day)) = (size, day) {
                *day += size;
            }
        }
        Ok(Outlook {
            drivers: self.drivers.clone(),
            use_to_come: UseToCome::ByCalendar(Box::new(known)),
            logged: vec![real(i64::try_from(length).unwrap_or(0)) / 7.0],
            groups: vec!["all".to_owned()],
            plan: exposure.into_iter().map(|day| vec![day]).collect(),
            normal,
            factors: vec![None],
            told,
            today: place.today,
        })
    }

    fn day(&self, at: usize) -> (Vec<Work>, Vec<Use>) {
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
    fn usual(&self) -> Vec<[f64; WEEK]> {
        let first = instant::day_of(self.first);
        let each = self
            .days
            .iter()
            .map(|days| weekday_means(days, first, RECENT));
        each.collect()
    }

    fn logged(&self, groups: usize) -> Vec<f64> {
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

/// The weekday so many days after a day, from 0 for Monday.
fn weekday(day: NaiveDate, after: usize) -> usize {
    let monday = usize::try_from(day.weekday().num_days_from_monday()).unwrap_or(0);
    (monday + after) % WEEK
}

fn real(number: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "an exposure, not a quantity")]
    let number = number as f64;
    number
}
