//! What the days to come are told from, read at once for all parts that are asked about. What follows for one
//! of them is in `part`.

use std::collections::HashMap;

use chrono::NaiveDate;
use chrono_tz::Tz;
use domain::ledger::Book;
use sea_orm::ConnectionTrait;
use uuid::Uuid;

use super::part::PartAhead;
use super::plan::{self, Booked};
use super::record::{self, Record};
use super::{HORIZON, Options};
use crate::service::known::{self, View};
use crate::service::lead_times::Delivery;
use crate::service::ledger::book;
use crate::service::{Error, instant, learned, lulls, suppliers};
use crate::store;
use crate::store::entity::{parts as part_rows, sites, starting_assumptions, wear_days};

/// Where and from when, for all parts.
#[derive(Debug)]
pub(super) struct Place {
    pub(super) today: NaiveDate,
    /// The share of normal work on each day of the horizon.
    pub(super) shares: Vec<f64>,
    pub(super) booked: Vec<Booked>,
}

/// What is known of some parts at a site, in the database as it was at one instant.
#[derive(Debug)]
pub struct Reading {
    site: sites::Model,
    place: Place,
    days: HashMap<i64, Vec<wear_days::Model>>,
    levels: HashMap<i64, Book>,
    assumptions: Vec<starting_assumptions::Model>,
    leads: HashMap<i64, Lead>,
}

/// When an order of now would be there, by the offer that is there first.
#[derive(Clone, Debug)]
pub struct Lead {
    /// The offer.
    pub offer: Uuid,
    /// The supplier.
    pub supplier: i64,
    /// The day that is planned with.
    pub arrives: NaiveDate,
    /// In how many days, from 0 for today, each with its chance; they add up to 1.
    pub days: Vec<(u32, f64)>,
}

impl Lead {
    /// The number of days that is as likely too few as too many.
    pub fn middle(&self) -> i64 {
        let mut sum = 0.0;
        let found = self.days.iter().find(|(_, chance)| {
            sum += chance;
            sum >= 0.5 - 1e-9
        });
        found
            .or(self.days.last())
            .map_or(0, |(days, _)| i64::from(*days))
    }
}

impl Reading {
    /// Reads what is known of those parts at a site; inside a transaction or on a connection that reads.
    ///
    /// # Errors
    /// A failure of the store, or a row that does not hold what a check lets in.
    pub async fn load(
        db: &impl ConnectionTrait,
        parts: &[part_rows::Model],
        site: &sites::Model,
        view: View,
    ) -> Result<Self, Error> {
        let zone = instant::site_zone(&site.zone);
        let today = view.at.with_timezone(&zone).date_naive();
        let place = Place {
            today,
            shares: lulls::shares(db, site.id, today, HORIZON).await?,
            booked: plan::booked(db, site, (today, HORIZON)).await?,
        };
        let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
        let first = record::first_day(today);
        let mut days: HashMap<i64, Vec<wear_days::Model>> = HashMap::new();
        for row in known::wear_days(db, view, (site.id, &ids), first).await? {
            days.entry(row.part_id).or_default().push(row);
        }
        Ok(Self {
            site: site.clone(),
            place,
            days,
            levels: known::levels(db, view, (site.id, &ids)).await?,
            assumptions: store::parts::assumptions(db, ids.iter().copied()).await?,
            leads: leads(db, &ids, (view, zone)).await?,
        })
    }

    /// The first of the days to come, by the calendar of the site.
    pub fn today(&self) -> NaiveDate {
        self.place.today
    }

    /// What is to come for one of the parts, or why that cannot be told and what to do.
    ///
    /// # Errors
    /// A fault of ours: figures that no check lets in.
    pub fn part(
        &self,
        part: &part_rows::Model,
        options: &Options,
    ) -> Result<Result<PartAhead, String>, Error> {
        let rows = self.days.get(&part.id).map_or(&[][..], Vec::as_slice);
        let today = self.place.today;
        let stub = learned::stub_of(&self.site);
        let own = |driver| learned::assumed(part, driver, (&self.assumptions, stub));
        let record = match Record::of((part, rows), &own, today, options.week)? {
            Ok(record) => record,
            Err(why) => return Ok(Err(why)),
        };
        let book = self.levels.get(&part.id).copied().unwrap_or_default();
        let level = book::level(&book, part, &self.site);
        let lead = self.leads.get(&part.id).cloned();
        let outlook = record.outlook(part.id, &self.place)?;
        Ok(Ok(PartAhead::new(outlook, (level, lead), options)))
    }

    /// The courses that use a part and begin within so many days.
    pub(super) fn courses(&self, part: i64, days: u32) -> Vec<String> {
        plan::courses(&self.place.booked, part, (self.place.today, days))
    }
}

/// When an order of now is there, by the offer that is first for each of those parts.
async fn leads(
    db: &impl ConnectionTrait,
    ids: &[i64],
    (view, zone): (View, Tz),
) -> Result<HashMap<i64, Lead>, Error> {
    let offers = store::offers::of_parts(db, ids.iter().copied()).await?;
    let sellers = offers.iter().map(|offer| offer.supplier_id);
    let sellers = store::suppliers::get_many(db, sellers).await?;
    let deliveries = Delivery::of(db, &sellers, (view, zone)).await?;
    let now = view.at.with_timezone(&zone).naive_local();
    let mut first: HashMap<i64, Lead> = HashMap::new();
    for offer in &offers {
        let Some(delivery) = deliveries.get(&offer.supplier_id) else {
            continue;
        };
        let none_until = offer
            .none_until
            .as_deref()
            .map(suppliers::day)
            .transpose()?;
        let arrives = delivery.arrival(now, none_until);
        let known = first.get(&offer.part_id);
        if known.is_none_or(|before| arrives < before.arrives) {
            let lead = Lead {
                offer: offer.id,
                supplier: offer.supplier_id,
                arrives,
                days: delivery.days(now, none_until),
            };
            first.insert(offer.part_id, lead);
        }
    }
    Ok(first)
}
