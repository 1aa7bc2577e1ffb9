//! What is to come for one part: use over any number of days, and the work that it follows from. How it
//! follows from the record is in `record`.

use chrono::NaiveDate;
use domain::exposure::Driver;
use domain::predictive::Mixture;
use domain::review::{Ahead, ReviewError};
use domain::wear::discounted::ByCalendar;
use types::{BookedWork, GroupAhead};

use super::fault;
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
        match &self.use_to_come {
            UseToCome::ByWork(ahead) => {
                let days = days
                    .into_iter()
                    .map(|(days, chance)| (usize::try_from(days).unwrap_or(1), chance));
                let uses = ahead.over_lead_time(0, days);
                uses.map_err(|error: ReviewError| fault(&error))
            }
            UseToCome::ByCalendar(known) => {
                let mut components = Vec::new();
                for (days, chance) in days {
                    let periods = days.div_ceil(7).max(1);
                    let uses = known
                        .predictive(periods, self.planned(days))
                        .map_err(|error| fault(&error))?;
                    let each = uses.components().iter();
                    components.extend(each.map(|(weight, uses)| (weight * chance, *uses)));
                }
                Mixture::new(components).map_err(|error| fault(&error))
            }
        }
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

    /// Jobs that begin within so many days.
    pub(super) fn booked(&self, days: u32) -> Vec<BookedWork> {
        let near = self
            .told
            .iter()
            .filter(|work| (work.start - self.today).num_days() < i64::from(days));
        near.cloned().collect()
    }
}
