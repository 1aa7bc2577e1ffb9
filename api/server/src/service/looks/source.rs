//! Where parts come from: for each the offer from which an order of now is there first, and what is on
//! order already.

use std::collections::HashMap;

use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use chrono_tz::Tz;
use sea_orm::ConnectionTrait;

use crate::service::known::View;
use crate::service::lead_times::Delivery;
use crate::service::{Error, instant, orders, suppliers};
use crate::store;
use crate::store::entity::{offers, suppliers as supplier_rows};

/// An offer, and when an order of now would come.
pub(super) struct Source {
    pub(super) offer: offers::Model,
    pub(super) supplier: String,
    /// The ISO 4217 code of its prices.
    pub(super) currency: String,
    /// In how many days it comes, each with its chance.
    pub(super) days: Vec<(u32, f64)>,
    /// The day that is planned with.
    pub(super) arrives: NaiveDate,
    none_until: Option<NaiveDate>,
}

/// Something of a part that is on order.
#[derive(Clone, Debug)]
pub(super) struct Coming {
    pub(super) order: i64,
    pub(super) supplier: String,
    pub(super) pieces: i64,
    pub(super) due: NaiveDate,
    /// From then on it is late: after the open day that follows the due one.
    pub(super) late_from: DateTime<Utc>,
}

/// Suppliers and offers at an instant.
pub(super) struct Market {
    pub(super) now: NaiveDateTime,
    zone: Tz,
    sources: HashMap<i64, Source>,
    deliveries: HashMap<i64, Delivery>,
    /// Name and currency of each.
    names: HashMap<i64, (String, String)>,
}

impl Market {
    /// What is on offer of those parts.
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        ids: &[i64],
        (view, zone): (View, Tz),
    ) -> Result<Self, Error> {
        let offers = store::offers::of_parts(db, ids.iter().copied()).await?;
        let open = orders::under_way(db).await?;
        let sellers = offers.iter().map(|offer| offer.supplier_id);
        let sellers = sellers.chain(open.iter().map(|order| order.supplier_id));
        let sellers = store::suppliers::get_many(db, sellers).await?;
        let mut market = Self {
            now: view.at.with_timezone(&zone).naive_local(),
            zone,
            sources: HashMap::new(),
            deliveries: Delivery::of(db, &sellers, (view, zone)).await?,
            names: sellers.iter().map(name).collect(),
        };
        for offer in offers {
            market.consider(offer)?;
        }
        Ok(market)
    }

    /// Takes an offer as the source of its part if an order of now is there before that of another.
    fn consider(&mut self, offer: offers::Model) -> Result<(), Error> {
        let Some(delivery) = self.deliveries.get(&offer.supplier_id) else {
            return Ok(());
        };
        let none_until = offer
            .none_until
            .as_deref()
            .map(suppliers::day)
            .transpose()?;
        let source = Source {
            supplier: self.name(offer.supplier_id),
            currency: self.currency(offer.supplier_id),
            days: delivery.days(self.now, none_until),
            arrives: delivery.arrival(self.now, none_until),
            none_until,
            offer,
        };
        let part = source.offer.part_id;
        let key = |it: &Source| (it.arrives, it.offer.price_minor, it.offer.id);
        if self
            .sources
            .get(&part)
            .is_none_or(|known| key(&source) < key(known))
        {
            self.sources.insert(part, source);
        }
        Ok(())
    }

    fn name(&self, supplier: i64) -> String {
        self.names
            .get(&supplier)
            .map(|(name, _)| name.clone())
            .unwrap_or_default()
    }

    fn currency(&self, supplier: i64) -> String {
        self.names
            .get(&supplier)
            .map(|(_, currency)| currency.clone())
            .unwrap_or_default()
    }

    /// Where a part comes from first.
    pub(super) fn source(&self, part: i64) -> Option<&Source> {
        self.sources.get(&part)
    }

    /// How the supplier of a source delivers.
    pub(super) fn delivery(&self, source: &Source) -> Option<&Delivery> {
        self.deliveries.get(&source.offer.supplier_id)
    }

    /// The last local time at which an order comes before a day.
    pub(super) fn order_by(&self, source: &Source, day: NaiveDate) -> Option<NaiveDateTime> {
        self.delivery(source)?.order_by(day, source.none_until)
    }

    /// What is on order to a site, by part and by due date, as the database has it now.
    pub(super) async fn coming(
        &self,
        db: &impl ConnectionTrait,
        site: i64,
    ) -> Result<HashMap<i64, Vec<Coming>>, Error> {
        let mut open = orders::under_way(db).await?;
        open.retain(|order| order.site_id == site);
        let lines = store::orders::lines(db, open.iter().map(|order| order.id)).await?;
        let mut coming: HashMap<i64, Vec<Coming>> = HashMap::new();
        for line in &lines {
            let order = open.iter().find(|order| order.id == line.order_id);
            let (Some(pieces), Some(order)) = (orders::to_come_of(line), order) else {
                continue;
            };
            let delivery = self.deliveries.get(&order.supplier_id);
            let (Some(delivery), Some(placed)) = (delivery, order.placed_at) else {
                continue;
            };
            let placed = instant::from_micros(placed).with_timezone(&self.zone);
            let due = delivery.arrival(placed.naive_local(), None);
            let after = delivery.open_after(due);
            let late = after
                .checked_add_days(chrono::Days::new(1))
                .unwrap_or(after);
            coming.entry(line.part_id).or_default().push(Coming {
                order: order.id,
                supplier: self.name(order.supplier_id),
                pieces,
                due,
                late_from: instant::start_of_day(late, self.zone),
            });
        }
        for of_part in coming.values_mut() {
            of_part.sort_by_key(|it| (it.due, it.order));
        }
        Ok(coming)
    }
}

fn name(row: &supplier_rows::Model) -> (i64, (String, String)) {
    (row.id, (row.name.clone(), row.currency.clone()))
}
