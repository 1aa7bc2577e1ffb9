//! What follows from the record of a part for the days to come: normal work, day by day, and what is booked
//! on top of it. The record itself is in `record`.

use chrono::{Datelike, NaiveDate};
use domain::exposure::Driver;
use domain::review::{Drivers, Shop};
use types::{BookedWork, DEFAULT_GROUP};

use super::outlook::{Outlook, UseToCome};
use super::plan::Booked;
use super::reading::Place;
use super::record::{Record, WEEK, real, week_by_week};
use super::{HORIZON, fault};
use crate::service::Error;

/// Work on each day, by group.
type Plan = Vec<Vec<f64>>;

impl Record {
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
        let groups = self.groups_with(&booked);
        let mut shop = Shop::new(&[self.assumed], groups.len()).map_err(|error| fault(&error))?;
        for at in 0..self.days.first().map_or(0, Vec::len) {
            let (work, uses) = self.day(at);
            shop.close_day(&work, &uses)
                .map_err(|error| fault(&error))?;
        }
        let normal = self.normal(place, &groups);
        let mut plan = normal.clone();
        let told = self.add_booked(&mut plan, (&booked, &groups), place.today);
        let factors = shop.factors().map_err(|error| fault(&error))?;
        let factors = (0..groups.len())
            .map(|group| factors.product(&[group]))
            .collect();
        let ahead = if self.week.is_some() {
            shop.as_stated(&plan)
        } else {
            shop.review(&plan)
        };
        Ok(Outlook {
            use_to_come: UseToCome::ByWork(Box::new(ahead.map_err(|error| fault(&error))?)),
            logged: self.logged(groups.len()),
            drivers: self.drivers,
            assumptions: self.assumptions,
            besides: self.besides,
            shares: place.shares.clone(),
            used: 0,
            groups,
            plan,
            normal,
            factors,
            told,
            today: place.today,
        })
    }

    /// The groups on record and those that are booked; with a stated pace and nobody's work to share it out
    /// by, the shop's own as well.
    fn groups_with(&self, booked: &[&Booked]) -> Vec<String> {
        let mut groups = self.groups.clone();
        let mut add = |group: &str| {
            if !groups.iter().any(|known| known == group) {
                groups.push(group.to_owned());
            }
        };
        for work in booked {
            add(&work.group);
        }
        if self.week.is_some() {
            add(DEFAULT_GROUP);
        }
        groups
    }

    /// Normal work of each day, lulls aside: each weekday as usual, or an even share of the week that is
    /// stated, by the groups that worked in the last half year.
    fn normal(&self, place: &Place, groups: &[String]) -> Plan {
        let usual = self.usual();
        let weekly: Vec<f64> = usual.iter().map(|days| days.iter().sum()).collect();
        let all: f64 = weekly.iter().sum();
        let own = groups.iter().position(|group| group == DEFAULT_GROUP);
        let part_of = |group: usize| match weekly.get(group) {
            Some(of_group) if all > 0.0 => of_group / all,
            _ if all <= 0.0 && Some(group) == own => 1.0,
            _ => 0.0,
        };
        let day = |(at, share): (usize, &f64)| -> Vec<f64> {
            let weekday = weekday(place.today, at);
            let of_group = |group: usize| match self.week {
                Some(minutes) => minutes / 60.0 / 7.0 * part_of(group),
                None => usual.get(group).map_or(0.0, |usual| usual[weekday]),
            };
            (0..groups.len())
                .map(|group| of_group(group) * share)
                .collect()
        };
        place.shares.iter().enumerate().map(day).collect()
    }

    /// Adds the work that is booked to the plan, and tells it.
    fn add_booked(
        &self,
        plan: &mut Plan,
        (booked, groups): (&[&Booked], &[String]),
        today: NaiveDate,
    ) -> Vec<BookedWork> {
        let horizon = usize::try_from(HORIZON).unwrap_or(1);
        let mut told = Vec::new();
        for work in booked {
            let group = groups.iter().position(|group| *group == work.group);
            let size = work.size(self.drivers[0]);
            let size = size.or_else(|| Some(work.weeks()? * self.normal_week(group)));
            told.push(work.told(size));
            let (Some(size), Some(group), Some(begin)) = (size, group, work.begins_in(today))
            else {
                continue;
            };
            let length = work.length().min(horizon - begin.min(horizon - 1));
            for day in plan.iter_mut().skip(begin).take(length) {
                day[group] += size / real(i64::try_from(length).unwrap_or(1));
            }
        }
        told
    }

    /// The main driver of a normal week: of a group that is on record, else of all of them.
    fn normal_week(&self, group: Option<usize>) -> f64 {
        if let Some(minutes) = self.week {
            return minutes / 60.0;
        }
        let usual = self.usual();
        let sum = |week: &[f64; WEEK]| week.iter().sum::<f64>();
        let own = group.and_then(|group| usual.get(group)).map(sum);
        own.filter(|own| *own > 0.0)
            .unwrap_or_else(|| usual.iter().map(sum).sum())
    }

    fn by_calendar(self, place: &Place, booked: &[&Booked]) -> Result<Outlook, Error> {
        let Drivers::First(assumed) = self.assumed else {
            return Err(Error::Internal("two drivers of a calendar".to_owned()));
        };
        let length = self.days.first().map_or(0, Vec::len);
        let known = week_by_week(&self.days, assumed);
        let mut exposure: Vec<f64> = place.shares.iter().map(|share| share / 7.0).collect();
        let normal = exposure.iter().map(|day| vec![*day]).collect();
        let mut told = Vec::new();
        for work in booked {
            let size = work.size(Driver::Weeks);
            told.push(work.told(size));
            let day = work
                .begins_in(place.today)
                .and_then(|day| exposure.get_mut(day));
            if let (Some(size), Some(day)) = (size, day) {
                *day += size;
            }
        }
        Ok(Outlook {
            used: self.days.iter().flatten().map(|day| day.used).sum(),
            drivers: self.drivers,
            assumptions: self.assumptions,
            besides: self.besides,
            shares: place.shares.clone(),
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
}

/// The weekday so many days after a day, from 0 for Monday.
fn weekday(day: NaiveDate, after: usize) -> usize {
    let monday = usize::try_from(day.weekday().num_days_from_monday()).unwrap_or(0);
    (monday + after) % WEEK
}
