//! Goods that came in for an order: the receipt is recorded whatever was ordered, and what the order
//! still waits for goes down by as much. What was not ordered fills no line.

use domain::ledger::MovementKind;
use sea_orm::ActiveValue::Set;
use sea_orm::DatabaseTransaction;
use types::NewReceipt;

use super::books::Books;
use super::names::Names;
use super::page::{NewRow, Page};
use super::placed::Placed;
use super::{Answer, Request, difference, plan, words};
use crate::service::Error;
use crate::service::orders::{State, filled};
use crate::store;
use crate::store::entity::{movements, orders};

/// Records a receipt for an order.
pub(super) async fn record(
    tx: &DatabaseTransaction,
    (request, receipt): (&Request, &NewReceipt),
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let told = receipt.circumstances();
    let placed = Placed::find(request, told, None, names)?;
    let part = names.part(&receipt.part)?;
    let number = receipt.order.unwrap_or_default();
    let order = store::orders::find(tx, number).await?.ok_or_else(|| {
        Error::invalid(
            "/order",
            format!("there is no order {number}; see the list of orders"),
        )
    })?;
    if !State::parse(&order.state).is_some_and(State::is_under_way) {
        let why = format!(
            "order {number} is {}, nothing is to come; leave the order out",
            order.state
        );
        return Err(Error::invalid("/order", why));
    }
    // Held against what the order waits for before this fills any of it.
    let difference = difference::of(tx, &order, part, receipt.quantity).await?;
    let entry = placed.entry(request, "receipt", told);
    let row = NewRow {
        part: part.id,
        site: entry.site_id,
        kind: MovementKind::Receipt,
        quantity: receipt.quantity,
        order: Some(number),
    };
    page.move_part(&entry, row, books)?;
    let came = settle(tx, &order, (part.id, receipt.quantity)).await?;
    books
        .add(tx, std::iter::once((part.id, order.site_id)))
        .await?;
    books.order((part.id, order.site_id), -came)?;
    advance(tx, &order).await?;
    let mut says = words::receipt(receipt.quantity, (part, placed.site), names, books);
    if let Some(told) = &difference {
        says = format!("{says} {}", told.says);
    }
    let told = plan::Told {
        says,
        kind: MovementKind::Receipt,
        quantity: receipt.quantity,
        differences: difference.into_iter().collect(),
    };
    plan::record(request, entry, (part, placed.site), told, (books, page))
}

/// Fills the lines of a part with all that came of it for the order, `change` included; gives by
/// how much less the order waits for. What came beyond the order fills no line.
async fn settle(
    tx: &DatabaseTransaction,
    order: &orders::Model,
    (part, change): (i64, i64),
) -> Result<i64, Error> {
    let before = store::movements::received(tx, order.id, part).await?;
    let mut left = (before + change).max(0);
    let mut came = 0;
    for line in store::orders::lines(tx, [order.id]).await? {
        if line.part_id != part {
            continue;
        }
        let received = filled(&line, &mut left);
        if received != line.received {
            store::orders::set_received(tx, line.id, received).await?;
            came += received - line.received;
        }
    }
    Ok(came)
}

/// The state of an order follows from what came of its lines.
async fn advance(tx: &DatabaseTransaction, order: &orders::Model) -> Result<(), Error> {
    let lines = store::orders::lines(tx, [order.id]).await?;
    let state = if lines
        .iter()
        .all(|line| line.received >= line.pack_size * line.packs)
    {
        State::Arrived
    } else if lines.iter().any(|line| line.received > 0) {
        State::PartArrived
    } else {
        State::Placed
    };
    let row = orders::ActiveModel {
        state: Set(state.as_str().to_owned()),
        ..Default::default()
    };
    Ok(store::orders::update(tx, order.id, row).await?)
}

/// Takes back what a receipt did to its order.
pub(super) async fn unreceive(
    tx: &DatabaseTransaction,
    number: i64,
    row: &movements::Model,
    books: &mut Books,
) -> Result<(), Error> {
    let Some(order) = store::orders::find(tx, number).await? else {
        return Ok(());
    };
    let came = settle(tx, &order, (row.part_id, -row.quantity)).await?;
    if State::parse(&order.state) == Some(State::Cancelled) {
        // The order stays cancelled: what did not come is awaited no more.
        return Ok(());
    }
    let key = (row.part_id, order.site_id);
    books.add(tx, std::iter::once(key)).await?;
    books.order(key, -came)?;
    advance(tx, &order).await
}
