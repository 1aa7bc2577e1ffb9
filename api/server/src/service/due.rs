//! What is on order to a site, and the day on which each order is due. What came of it is with the orders;
//! what a piece of work makes of it is in `needs`.

use std::collections::HashMap;

use chrono::NaiveDate;
use chrono_tz::Tz;
use sea_orm::ConnectionTrait;

use super::known::{self, View};
use super::lead_times::Delivery;
use super::orders::to_come_of;
use super::{Error, instant};
use crate::store;
use crate::store::entity::{order_lines, orders, suppliers};

/// An order of which something is to come.
#[derive(Clone, Debug)]
pub struct Expected {
    /// The order.
    pub order: orders::Model,
    /// Its lines, with what has come of them.
    pub lines: Vec<order_lines::Model>,
    /// Who delivers it.
    pub supplier: suppliers::Model,
    /// The day on which it is due, by the lead time that is known of the supplier.
    pub due: NaiveDate,
}

impl Expected {
    /// What is to come of each part, in the order of the lines.
    pub fn to_come(&self) -> impl Iterator<Item = (i64, i64)> + '_ {
        self.lines
            .iter()
            .filter_map(|line| Some((line.part_id, to_come_of(line)?)))
    }
}

/// The orders to a site of which something is to come, the first due first; days are those of the zone.
pub async fn expected(
    db: &impl ConnectionTrait,
    (view, zone): (View, Tz),
    site: i64,
) -> Result<Vec<Expected>, Error> {
    let orders = known::orders_to(db, view, site).await?;
    let sellers = orders.iter().map(|(order, _)| order.supplier_id);
    let sellers = store::suppliers::get_many(db, sellers).await?;
    let deliveries = Delivery::of(db, &sellers, (view, zone)).await?;
    let sellers: HashMap<i64, suppliers::Model> =
        sellers.into_iter().map(|row| (row.id, row)).collect();
    let due = orders.into_iter().filter_map(|(order, lines)| {
        let supplier = sellers.get(&order.supplier_id)?.clone();
        let placed = instant::from_micros(order.placed_at?).with_timezone(&zone);
        let delivery = deliveries.get(&supplier.id)?;
        Some(Expected {
            due: delivery.arrival(placed.naive_local(), None),
            order,
            lines,
            supplier,
        })
    });
    let mut due: Vec<Expected> = due
        .filter(|expected| expected.to_come().next().is_some())
        .collect();
    due.sort_by_key(|expected| (expected.due, expected.order.id));
    Ok(due)
}
