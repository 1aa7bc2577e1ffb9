//! What is to come for one part: use over any number of days, and the work that it follows from. How it
//! follows from the record is in `record`.

use chrono::NaiveDate;
use domain::exposure::Driver;
use domain::predictive::Mixture;
use domain::review::{Ahead, ReviewError};
use domain::wear::discounted::ByCalendar;
use types::{BookedWork, GroupAhead};

use super::fault;
use super::record::{Assumed, Besides};
use crate::service::Error;

/// Use to come by whichever way the part is known.
#[derive(Debug)]
pub(super) enum UseToCome {
    ByWork(Box<Ahead>),
    ByCalendar(Box<ByCalendar>),
}

/// What is to come for one part.
#[derive(Debug)]
pub(super) struct Outlook {
    pub(super) drivers: Vec<Driver>,
    /// What is assumed of each driver.
    pub(super) assumptions: Vec<Assumed>,
    /// Use by groups that have no work on record, on top.
    pub(super) besides: Vec<Besides>,
    /// The share of normal work on each day.
    pub(super) shares: Vec<f64>,
    /// What was used, where that goes by the calendar.
    pub(super) used: u64,
    pub(super) use_to_come: UseToCome,
    pub(super) groups: Vec<String>,
    pub(super) logged: Vec<f64>,
    /// Work on each day, by group, with what is booked.
    pub(super) plan: Vec<Vec<f64>>,
    /// The same without.
    pub(super) normal: Vec<Vec<f64>>,
    pub(super) factors: Vec<Option<f64>>,
    pub(super) told: Vec<BookedWork>,
    pub(super) today: NaiveDate,
}

impl Outlook {
    /// Use over the first `days` days.
    pub(super) fn over(&self, days: u32) -> Result<Mixture, Error> {
        self.over_each([(days, 1.0)])
    }

    /// Use over a number of days that is not certain.
    pub(super) fn over_each(
        &self,
        days: impl IntoIterator<Item = (u32, f64)>,
    ) -> Result<Mixture, Error> {
        let mut cases = Vec::new();
        for (days, chance) in days {
            cases.push((chance, self.with_besides(self.alone(days)?, days)?));
        }
        Mixture::mixed(cases).map_err(|error| fault(&error))
    }

    /// Use over the first `days` days of all whose work is on record.
    fn alone(&self, days: u32) -> Result<Mixture, Error> {
        match &self.use_to_come {
            UseToCome::ByWork(ahead) => ahead
                .over(0, usize::try_from(days).unwrap_or(1))
                .map_err(|error: ReviewError| fault(&error)),
            UseToCome::ByCalendar(known) => known
                .predictive(days.div_ceil(7).max(1), self.planned(days))
                .map_err(|error| fault(&error)),
        }
    }

    /// And that of groups who only take.
    fn with_besides(&self, mut uses: Mixture, days: u32) -> Result<Mixture, Error> {
        let length = usize::try_from(days).unwrap_or(usize::MAX);
        let weeks = self.shares.iter().take(length).sum::<f64>() / 7.0;
        for besides in &self.besides {
            let more = besides.known.predictive(days.div_ceil(7).max(1), weeks);
            let more = more.map_err(|error| fault(&error))?;
            uses = uses.and(&more).map_err(|error| fault(&error))?;
        }
        Ok(uses)
    }

    /// All work of the first `days` days.
    fn planned(&self, days: u32) -> f64 {
        let days = usize::try_from(days).unwrap_or(usize::MAX);
        self.plan.iter().take(days).flatten().sum()
    }

    /// Work to come within so many days, by group.
    pub(super) fn groups(&self, days: u32) -> Vec<GroupAhead> {
        let days = usize::try_from(days).unwrap_or(usize::MAX);
        let sum = |plan: &[Vec<f64>], group: usize| -> f64 {
            plan.iter().take(days).map(|day| day[group]).sum()
        };
        let each = self.groups.iter().enumerate().map(|(group, name)| {
            let to_come = sum(&self.plan, group);
            GroupAhead {
                group: name.clone(),
                to_come,
                booked: (to_come - sum(&self.normal, group)).max(0.0),
                logged: self.logged[group],
                factor: self.factors[group],
            }
        });
        each.collect()
    }

    /// What is done of what is planned over the first `days` days, with its chance; nothing where that does
    /// not count.
    pub(super) fn kept(&self, days: u32) -> &[(f64, f64)] {
        match &self.use_to_come {
            UseToCome::ByWork(ahead) => ahead.kept(usize::try_from(days).unwrap_or(0)),
            UseToCome::ByCalendar(_) => &[],
        }
    }

    /// Jobs that begin within so many days.
    pub(super) fn booked(&self, days: u32) -> Vec<BookedWork> {
        let near = self
            .told
            .iter()
            .filter(|work| (work.start - self.today).num_days() < i64::from(days));
        near.cloned().collect()
    }
}
