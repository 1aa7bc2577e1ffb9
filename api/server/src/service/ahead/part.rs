//! What is to come for one part, held against what is there of it: the order point, the chance of being short
//! before a day, when it runs out. How use follows from the record is in `outlook`.

use chrono::NaiveDate;
use domain::ledger::Level;
use domain::predictive::Mixture;
use types::RunOut;

use super::outlook::Outlook;
use super::reading::Lead;
use super::{HORIZON, Options};
use crate::service::forecasts::whole;
use crate::service::{Error, run_out};

/// The chance of the early end of a range of days.
const EARLY: f64 = 0.05;

/// What is to come for one part at a site, and what is there of it.
#[derive(Debug)]
pub struct PartAhead {
    outlook: Outlook,
    level: Level,
    lead: Option<Lead>,
    options: Options,
}

impl PartAhead {
    pub(super) fn new(
        outlook: Outlook,
        (level, lead): (Level, Option<Lead>),
        options: &Options,
    ) -> Self {
        Self {
            outlook,
            level,
            lead,
            options: *options,
        }
    }

    pub(super) fn outlook(&self) -> &Outlook {
        &self.outlook
    }

    /// What is there of it.
    pub fn level(&self) -> Level {
        self.level
    }

    /// How many can be taken from the drawer for work.
    pub fn available(&self) -> i64 {
        self.level.usable()
    }

    /// When an order of now would be there; none where nobody offers it.
    pub fn lead(&self) -> Option<&Lead> {
        self.lead.as_ref()
    }

    /// Use over the first `days` days, today among them; at most [`HORIZON`] of them.
    ///
    /// # Errors
    /// A fault of ours.
    pub fn over(&self, days: u32) -> Result<Mixture, Error> {
        self.outlook.over(days.min(HORIZON))
    }

    /// Use over a number of days that is not certain, each with its chance; at most [`HORIZON`] of them.
    ///
    /// # Errors
    /// A fault of ours.
    pub fn over_each(&self, days: &[(u32, f64)]) -> Result<Mixture, Error> {
        let days = days
            .iter()
            .map(|(days, chance)| (*days.min(&HORIZON), *chance));
        self.outlook.over_each(days)
    }

    /// The first day by which so many pieces are used up with a chance of 5 %; none for a day beyond
    /// [`HORIZON`].
    ///
    /// # Errors
    /// A fault of ours.
    pub fn early(&self, pieces: i64) -> Result<Option<NaiveDate>, Error> {
        let from = (self.outlook.today, HORIZON);
        run_out::date(pieces, EARLY, from, |last, days| {
            Ok(self.over(days)?.sf(last))
        })
    }

    /// Use from now until an order of now is there and the stock has been looked at once more, over each
    /// number of days with its chance; none where nobody offers the part.
    ///
    /// # Errors
    /// A fault of ours.
    pub fn until_next(&self) -> Result<Option<Mixture>, Error> {
        let Some(lead) = &self.lead else {
            return Ok(None);
        };
        let days = lead.days.iter();
        let until = days.map(|(days, chance)| (self.covered(*days), *chance));
        Ok(Some(self.outlook.over_each(until)?))
    }

    /// Days until the stock has been looked at once more, for an order that takes so many.
    pub(super) fn covered(&self, days: u32) -> u32 {
        days.saturating_add(self.options.review).min(HORIZON)
    }

    /// When to order: at this inventory position or below; none where nobody offers the part.
    ///
    /// # Errors
    /// A fault of ours.
    pub fn order_point(&self) -> Result<Option<i64>, Error> {
        let uses = self.until_next()?;
        Ok(uses.map(|uses| whole(uses.quantile(self.options.target.get()))))
    }

    /// The chance that more is needed before `day` than is available now; what comes in on the way does not
    /// count. 0 for a day that is not after today.
    ///
    /// # Errors
    /// A fault of ours.
    pub fn short_before(&self, day: NaiveDate) -> Result<f64, Error> {
        let days = (day - self.outlook.today).num_days();
        match u32::try_from(days) {
            Ok(days) if days > 0 => {
                let available = u64::try_from(self.available()).unwrap_or(0);
                Ok(self.over(days)?.sf(available))
            }
            _ => Ok(0.0),
        }
    }

    /// The first days by which what is available is used up with a chance of 5, 50 and 95 %; none for a day
    /// beyond [`HORIZON`].
    ///
    /// # Errors
    /// A fault of ours.
    pub fn run_out(&self) -> Result<RunOut, Error> {
        let from = (self.outlook.today, HORIZON);
        run_out::dates(self.available(), from, |last, days| {
            Ok(self.over(days)?.sf(last))
        })
    }
}
