//! How suppliers deliver: their open days, their cut-off, and lead times learned from what came.

use std::collections::HashMap;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use chrono_tz::Tz;
use domain::calendar::OpenDays;
use domain::lead_time::LeadTime;
use sea_orm::ConnectionTrait;

use super::known::View;
use super::{Error, instant, suppliers};
use crate::store;
use crate::store::entity::suppliers as rows;

/// How one supplier delivers.
#[derive(Clone, Debug)]
pub struct Delivery {
    open: OpenDays,
    cut_off: NaiveTime,
    /// Learned from its deliveries, or as it states.
    pub lead: LeadTime,
}

impl Delivery {
    /// How those suppliers deliver, in the order given, by what is known at an instant; days are those
    /// of the zone.
    pub async fn of(
        db: &impl ConnectionTrait,
        sellers: &[rows::Model],
        (view, zone): (View, Tz),
    ) -> Result<HashMap<i64, Self>, Error> {
        let mut open = suppliers::open_days(db, sellers.iter().map(|row| row.id)).await?;
        let at = view.at.timestamp_micros();
        let ids = sellers.iter().map(|row| row.id);
        let came = store::orders::deliveries(db, ids, (at, view.facts())).await?;
        let local = |micros: i64| {
            instant::from_micros(micros)
                .with_timezone(&zone)
                .naive_local()
        };
        let delivery = |row: &rows::Model| {
            let open = open.remove(&row.id).unwrap_or_default();
            let cut_off = suppliers::cut_off(row);
            let own = came.iter().filter(|it| it.supplier_id == row.id);
            let taken: Vec<u32> = own
                .map(|it| open.taken(local(it.placed_at), cut_off, local(it.came_at).date()))
                .collect();
            let stated = u32::try_from(row.lead_time_days).unwrap_or_default();
            let lead = LeadTime::learned(stated, &taken);
            let delivery = Self {
                open,
                cut_off,
                lead,
            };
            (row.id, delivery)
        };
        Ok(sellers.iter().map(delivery).collect())
    }

    /// When what is ordered at a local time arrives, as it is planned with; it may have none until a
    /// day.
    pub fn arrival(&self, ordered: NaiveDateTime, none_until: Option<NaiveDate>) -> NaiveDate {
        let terms = (self.cut_off, self.lead.planned());
        self.open.arrival_from(ordered, terms, none_until)
    }

    /// The open day after a day.
    pub fn open_after(&self, day: NaiveDate) -> NaiveDate {
        // An order of a day's first minute counts as that day, or as the next open one.
        self.open
            .arrival(day.and_time(NaiveTime::MIN), self.cut_off, 1)
    }

    /// Whether the supplier works at a local time, and takes orders of that day.
    pub fn takes_orders(&self, at: NaiveDateTime) -> bool {
        self.open.is_open(at.date()) && at.time() <= self.cut_off
    }

    /// Until when it takes the orders of a day.
    pub fn cut_off(&self) -> NaiveTime {
        self.cut_off
    }

    /// In how many days what is ordered at a local time arrives, each with its chance.
    pub fn days(&self, ordered: NaiveDateTime, none_until: Option<NaiveDate>) -> Vec<(u32, f64)> {
        let chances = self.lead.chances().map(|(lead, chance)| {
            let terms = (self.cut_off, lead);
            let arrives = self.open.arrival_from(ordered, terms, none_until);
            let days = (arrives - ordered.date()).num_days();
            (u32::try_from(days).unwrap_or(0), chance)
        });
        chances.collect()
    }

    /// The last local time at which an order comes before the day `start`; none if it has none in
    /// time whenever it is ordered.
    pub fn order_by(
        &self,
        start: NaiveDate,
        none_until: Option<NaiveDate>,
    ) -> Option<NaiveDateTime> {
        let last = self.open.order_by(start, self.cut_off, self.lead.planned());
        none_until
            .is_none_or(|day| day <= last.date())
            .then_some(last)
    }

    /// What was learned of the lead time, in words; nothing without a delivery.
    pub fn says(&self, supplier: &str) -> Option<String> {
        let (planned, stated) = (self.lead.planned(), self.lead.stated());
        let deliveries = match self.lead.deliveries() {
            0 => return None,
            1 => "1 delivery".to_owned(),
            more => format!("{more} deliveries"),
        };
        let kept = if planned == stated {
            ", as it states".to_owned()
        } else {
            format!(" and not with the {stated} it states")
        };
        Some(format!(
            "Lead time of {supplier}: planned with {planned} open days{kept}, by {deliveries} of its own; \
             8 times in 10 an order has come by then."
        ))
    }
}
