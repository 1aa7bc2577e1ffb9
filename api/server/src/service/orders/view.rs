//! Orders as the contract shows them.

use std::collections::HashMap;

use sea_orm::ConnectionTrait;
use types::{Difference, Order, OrderLine};

use crate::service::{Error, instant};
use crate::store;
use crate::store::entity::orders;

/// Orders with their lines.
pub(super) async fn views(
    db: &impl ConnectionTrait,
    rows: Vec<orders::Model>,
) -> Result<Vec<Order>, Error> {
    let lines = store::orders::lines(db, rows.iter().map(|row| row.id)).await?;
    let parts = store::parts::get_many(db, lines.iter().map(|line| line.part_id)).await?;
    let parts: HashMap<i64, String> = parts.into_iter().map(|row| (row.id, row.code)).collect();
    let suppliers = store::suppliers::get_many(db, rows.iter().map(|row| row.supplier_id)).await?;
    let suppliers: HashMap<i64, String> = suppliers
        .into_iter()
        .map(|row| (row.id, row.code))
        .collect();
    let sites = store::sites::get_many(db, rows.iter().map(|row| row.site_id)).await?;
    let sites: HashMap<i64, String> = sites.into_iter().map(|row| (row.id, row.code)).collect();
    let jobs = store::jobs::get_many(db, rows.iter().filter_map(|row| row.job_id)).await?;
    let jobs: HashMap<i64, String> = jobs.into_iter().map(|row| (row.id, row.code)).collect();
    let courses = store::courses::get_many(db, rows.iter().filter_map(|row| row.course_id)).await?;
    let courses: HashMap<i64, String> = courses.into_iter().map(|row| (row.id, row.code)).collect();
    let view = |row: orders::Model| {
        let lines: Vec<OrderLine> = lines
            .iter()
            .filter(|line| line.order_id == row.id)
            .map(|line| OrderLine {
                part: parts.get(&line.part_id).cloned().unwrap_or_default(),
                pack_size: line.pack_size,
                packs: line.packs,
                pieces: line.pack_size * line.packs,
                received: line.received,
                cost_minor: line.price_minor.saturating_mul(line.packs),
            })
            .collect();
        let goods_minor = lines
            .iter()
            .fold(0_i64, |sum, line| sum.saturating_add(line.cost_minor));
        Order {
            number: row.id,
            state: row.state,
            supplier: suppliers.get(&row.supplier_id).cloned().unwrap_or_default(),
            job: row.job_id.and_then(|id| jobs.get(&id).cloned()),
            course: row.course_id.and_then(|id| courses.get(&id).cloned()),
            site: sites.get(&row.site_id).cloned().unwrap_or_default(),
            lines,
            goods_minor,
            freight_minor: row.freight_minor,
            cost_minor: goods_minor.saturating_add(row.freight_minor),
            currency: row.currency,
            created_at: instant::from_micros(row.created_at),
            placed_at: row.placed_at.map(instant::from_micros),
            differences: Vec::new(),
            says: None,
        }
    };
    Ok(rows.into_iter().map(view).collect())
}

/// One order with its lines.
pub(super) async fn view(db: &impl ConnectionTrait, row: orders::Model) -> Result<Order, Error> {
    let lost = || Error::Internal("an order was lost while it was shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}

/// `Order 3, quayhead: part arrived. WLa20-2.4: 6 of 10 came, 4 still to come.`
pub(super) fn delivered(order: &Order, differences: &[Difference]) -> String {
    let state = format!(
        "Order {}, {}: {}.",
        order.number, order.supplier, order.state
    );
    let told = differences.iter().map(|told| told.says.clone());
    let told: Vec<String> = std::iter::once(state).chain(told).collect();
    told.join(" ")
}
