//! What is known of the use of a part over the days to come, as a value to ask: for looks, which weigh
//! many parts at once and ask for more than a forecast tells.

use std::collections::HashMap;

use chrono::{Days, NaiveDate};
use domain::predictive::Mixture;
use sea_orm::ConnectionTrait;

use super::outlook::Outlook;
use super::record::{self, Record};
use super::{HORIZON, Place, plan};
use crate::service::known::{self, View};
use crate::service::{Error, instant, lulls};
use crate::store;
use crate::store::entity::{parts as part_rows, sites};

/// Use of a part over the days to come.
pub(in crate::service) struct Law {
    outlook: Outlook,
    today: NaiveDate,
}

/// The laws of those parts at a site, or why there is none. All are read at once.
pub(in crate::service) async fn laws(
    db: &impl ConnectionTrait,
    parts: &[&part_rows::Model],
    (site, view): (&sites::Model, View),
) -> Result<HashMap<i64, Result<Law, String>>, Error> {
    let zone = instant::site_zone(&site.zone);
    let today = view.at.with_timezone(&zone).date_naive();
    let place = Place {
        today,
        shares: lulls::shares(db, site.id, today, HORIZON).await?,
        booked: plan::booked(db, site, (today, HORIZON)).await?,
    };
    let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
    let first = record::first_day(today);
    let days = known::wear_days(db, view, (site.id, &ids), first).await?;
    let mut of_part: HashMap<i64, Vec<_>> = HashMap::new();
    for row in &days {
        of_part.entry(row.part_id).or_default().push(row);
    }
    let assumptions = store::parts::assumptions(db, ids.iter().copied()).await?;
    let mut laws = HashMap::with_capacity(parts.len());
    for part in parts {
        let rows = of_part.get(&part.id).map_or(&[][..], Vec::as_slice);
        let law = match Record::of(part, rows, &assumptions, today)? {
            Ok(record) => Ok(Law {
                outlook: record.outlook(part.id, &place)?,
                today,
            }),
            Err(why) => Err(why),
        };
        laws.insert(part.id, law);
    }
    Ok(laws)
}

impl Law {
    /// Use over so many days from today on, which are few enough to be known of.
    pub(in crate::service) fn over(&self, days: u32) -> Result<Mixture, Error> {
        self.outlook.over(days.min(HORIZON))
    }

    /// Use over a number of days that is not certain, each with its chance.
    pub(in crate::service) fn over_each(&self, days: &[(u32, f64)]) -> Result<Mixture, Error> {
        let days = days
            .iter()
            .map(|(days, chance)| (*days.min(&HORIZON), *chance));
        self.outlook.over_each(days)
    }

    /// The first day by which so many pieces are used up with a chance of 5 %; none within a year.
    pub(in crate::service) fn early(&self, pieces: i64) -> Result<Option<NaiveDate>, Error> {
        let Some(last) = u64::try_from(pieces).ok().and_then(|it| it.checked_sub(1)) else {
            return Ok(Some(self.today));
        };
        let is_out = |days: u32| -> Result<bool, Error> {
            Ok(self.outlook.over(days)?.sf(last) >= super::EARLY)
        };
        if !is_out(HORIZON)? {
            return Ok(None);
        }
        let (mut before, mut by) = (0, HORIZON);
        while by - before > 1 {
            let middle = before + (by - before) / 2;
            if is_out(middle)? {
                by = middle;
            } else {
                before = middle;
            }
        }
        Ok(self.today.checked_add_days(Days::new(u64::from(by) - 1)))
    }
}
