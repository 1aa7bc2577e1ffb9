//! Orders: placed, received, cancelled. How they are drafted is in `draft`, what may be ordered in
//! `permitted`.

use std::collections::BTreeSet;

use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, DatabaseTransaction};
use types::{NewArrival, NewReceipt, Order, OrderPage, Page, PlaceOrder};

use super::keys::Caller;
use super::ledger::{self, Answer, Body, Books, Request, hash};
use super::replies::Asked;
use super::{Context, Error, codes, needs};
use crate::store;
use crate::store::entity::{order_lines, orders};

mod draft;
mod permitted;
mod view;

pub use draft::{create, draft_for_work};
use permitted::{For, check_permitted, job_of, site_of};
use view::{view, views};

/// The state of an order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Written down, not sent.
    Draft,
    /// Sent to the supplier.
    Placed,
    /// Some of it came.
    PartArrived,
    /// All of it came.
    Arrived,
    /// It will not come.
    Cancelled,
}

impl State {
    const ALL: [Self; 5] = [
        Self::Draft,
        Self::Placed,
        Self::PartArrived,
        Self::Arrived,
        Self::Cancelled,
    ];

    /// The words on the wire.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Draft => "draft",
            Self::Placed => "placed",
            Self::PartArrived => "part arrived",
            Self::Arrived => "arrived",
            Self::Cancelled => "cancelled",
        }
    }

    /// The state of those words.
    pub fn parse(words: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|state| state.as_str() == words)
    }

    /// Whether something is to come.
    pub const fn is_under_way(self) -> bool {
        matches!(self, Self::Placed | Self::PartArrived)
    }
}

/// A page of orders.
pub async fn list(context: &Context, page: &Page) -> Result<OrderPage, Error> {
    let db = context.store.read();
    let before = page.after.as_deref().map(|after| {
        after.parse::<i64>().map_err(|_| {
            Error::invalid(
                "?after",
                format!("\"{after}\" is not the next of a page; start without it"),
            )
        })
    });
    let rows = store::orders::list(db, before.transpose()?, page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.id.to_string());
    Ok(OrderPage {
        orders: views(db, rows).await?,
        next,
    })
}

/// One order.
pub async fn get(context: &Context, number: &str) -> Result<Order, Error> {
    let db = context.store.read();
    view(db, find(db, number).await?).await
}

fn asked(context: &Context, caller: Caller, key: &str, hash: String) -> Result<Asked, Error> {
    ledger::check_idempotency_key(key)?;
    Ok(Asked {
        caller,
        key: key.to_owned(),
        hash,
        now: context.clock.now().timestamp_micros(),
    })
}

/// Places a draft: from now on what it holds is on order. Placing it again changes nothing.
pub async fn place(context: &Context, number: &str, how: &PlaceOrder) -> Result<Order, Error> {
    let (number, now) = (number.to_owned(), context.clock.now().timestamp_micros());
    let is_agreed = how.below_minimum;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let order = find(tx, &number).await?;
            match State::parse(&order.state) {
                Some(State::Placed) => return view(tx, order).await,
                Some(State::Draft) => {}
                _ => return Err(wrong_state(&order, "placed")),
            }
            // The rule may have come after the draft, or the revision of the procedure.
            let lines = store::orders::lines(tx, [order.id]).await?;
            let site = site_of(tx, order.site_id).await?;
            let job = job_of(tx, order.job_id).await?;
            let of = For {
                site: &site,
                job: job.as_ref(),
                now,
            };
            check_permitted(tx, of, lines.iter().map(|line| &line.part_id)).await?;
            if !is_agreed {
                check_minimum(tx, &order, &lines).await?;
            }
            expect_change(tx, &order, 1).await?;
            let row = orders::ActiveModel {
                state: Set(State::Placed.as_str().to_owned()),
                placed_at: Set(Some(now)),
                ..Default::default()
            };
            store::orders::update(tx, order.id, row).await?;
            view(tx, find(tx, &number).await?).await
        })
    });
    write.await
}

/// A supplier sends nothing below its minimum, unless it agreed to.
async fn check_minimum(
    tx: &DatabaseTransaction,
    order: &orders::Model,
    lines: &[order_lines::Model],
) -> Result<(), Error> {
    let supplier = store::suppliers::get_many(tx, [order.supplier_id]).await?;
    let Some(supplier) = supplier.into_iter().next() else {
        return Ok(());
    };
    let goods = lines.iter().fold(0_i64, |sum, line| {
        sum.saturating_add(line.packs.saturating_mul(line.price_minor))
    });
    if goods >= supplier.minimum_minor {
        return Ok(());
    }
    let told = |minor: i64| needs::money(minor, &order.currency);
    let why = format!(
        "the goods of order {} are {}, and {} sends nothing below {}: draft it anew with more packs, or give \
         below_minimum=true if the supplier agreed",
        order.id,
        told(goods),
        supplier.code,
        told(supplier.minimum_minor)
    );
    Err(Error::invalid("?below_minimum", why))
}

/// Cancels an order: what has not come is not on order any more. Cancelling it again changes nothing.
pub async fn cancel(context: &Context, number: &str) -> Result<Order, Error> {
    let (number, now) = (number.to_owned(), context.clock.now().timestamp_micros());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let order = find(tx, &number).await?;
            match State::parse(&order.state) {
                Some(State::Cancelled) => return view(tx, order).await,
                Some(State::Draft) => {}
                Some(State::Placed | State::PartArrived) => expect_change(tx, &order, -1).await?,
                Some(State::Arrived) | None => return Err(wrong_state(&order, "cancelled")),
            }
            cancel_row(tx, order.id, now).await?;
            view(tx, find(tx, &number).await?).await
        })
    });
    write.await
}

fn wrong_state(order: &orders::Model, wanted: &str) -> Error {
    Error::WrongState(format!(
        "order {} is {} and cannot be {wanted}",
        order.id, order.state
    ))
}

async fn cancel_row(tx: &DatabaseTransaction, number: i64, now: i64) -> Result<(), Error> {
    let row = orders::ActiveModel {
        state: Set(State::Cancelled.as_str().to_owned()),
        cancelled_at: Set(Some(now)),
        ..Default::default()
    };
    Ok(store::orders::update(tx, number, row).await?)
}

/// Adds what is still to come of an order to what is on order, or takes it away.
async fn expect_change(
    tx: &DatabaseTransaction,
    order: &orders::Model,
    sign: i64,
) -> Result<(), Error> {
    let lines = store::orders::lines(tx, [order.id]).await?;
    let mut books = Books::default();
    books
        .add(tx, lines.iter().map(|line| (line.part_id, order.site_id)))
        .await?;
    for line in &lines {
        let to_come = (line.pack_size * line.packs - line.received).max(0);
        books.order((line.part_id, order.site_id), sign * to_come)?;
    }
    books.write(tx).await
}

/// The orders of which something is to come.
pub(super) async fn under_way(db: &impl ConnectionTrait) -> Result<Vec<orders::Model>, Error> {
    let states = [State::Placed.as_str(), State::PartArrived.as_str()];
    Ok(store::orders::in_states(db, &states).await?)
}

/// What is still to come of a line, if anything.
pub(super) fn to_come_of(line: &order_lines::Model) -> Option<i64> {
    let left = line.pack_size * line.packs - line.received;
    (left > 0).then_some(left)
}

/// How many pieces of a line have come, out of what is left of all that came; that goes down by them.
/// What came beyond the order fills no line.
pub(super) fn filled(line: &order_lines::Model, left: &mut i64) -> i64 {
    let received = (*left).min(line.pack_size * line.packs);
    *left -= received;
    received
}

/// Receives what came of an order: everything that is to come, unless it says what.
pub async fn receive(
    context: &Context,
    (caller, key): (Caller, &str),
    number: &str,
    new: NewArrival,
) -> Result<Answer, Error> {
    new.check()?;
    let asked = asked(context, caller, key, hash(("arrival", &(number, &new)))?)?;
    let received_at = context.clock.now();
    let number = number.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            if let Some(before) = asked.answer_before(tx).await? {
                return Ok(before);
            }
            let order = find(tx, &number).await?;
            let mut requests = Vec::new();
            for (line, receipt) in receipts(tx, &order, &new).await?.into_iter().enumerate() {
                let hash = hash(("receipt", &receipt))?;
                // Each line is an entry of its own, under a key that follows from the request's.
                let key = format!("{}/{line}", asked.key);
                let body = Body::Receipt(receipt);
                requests.push(Request {
                    caller: asked.caller,
                    key,
                    hash,
                    received_at,
                    history: false,
                    trusted: false,
                    body,
                });
            }
            let mut differences = Vec::new();
            for answer in ledger::record(tx, requests).await? {
                differences.extend(ledger::differences(&answer?));
            }
            let order = view(tx, find(tx, &number).await?).await?;
            let order = Order {
                says: Some(view::delivered(&order, &differences)),
                differences,
                ..order
            };
            asked.answer(tx, 200, &order).await
        })
    });
    write.await
}

async fn receipts(
    tx: &DatabaseTransaction,
    order: &orders::Model,
    new: &NewArrival,
) -> Result<Vec<NewReceipt>, Error> {
    if !State::parse(&order.state).is_some_and(State::is_under_way) {
        return Err(wrong_state(order, "received"));
    }
    let site = store::sites::get_many(tx, [order.site_id])
        .await?
        .pop()
        .map(|site| site.code);
    let receipt = |part: String, quantity: i64| NewReceipt {
        part,
        quantity,
        order: Some(order.id),
        at: new.at,
        by: new.by.clone(),
        site: site.clone(),
        ..NewReceipt::default()
    };
    if !new.lines.is_empty() {
        return Ok(new
            .lines
            .iter()
            .map(|line| receipt(line.part.clone(), line.quantity))
            .collect());
    }
    let lines = store::orders::lines(tx, [order.id]).await?;
    let parts = store::parts::get_many(tx, lines.iter().map(|line| line.part_id)).await?;
    let to_come = |part: i64| -> i64 {
        let lines = lines.iter().filter(|line| line.part_id == part);
        lines
            .map(|line| (line.pack_size * line.packs - line.received).max(0))
            .sum()
    };
    let mut seen = BTreeSet::new();
    Ok(lines
        .iter()
        .filter(|line| seen.insert(line.part_id))
        .filter_map(|line| parts.iter().find(|part| part.id == line.part_id))
        .map(|part| receipt(part.code.clone(), to_come(part.id)))
        .filter(|receipt| receipt.quantity > 0)
        .collect())
}

async fn find(db: &impl ConnectionTrait, number: &str) -> Result<orders::Model, Error> {
    let missing = || Error::NotFound {
        kind: "order",
        key: number.to_owned(),
    };
    let number: i64 = number.parse().map_err(|_| missing())?;
    store::orders::find(db, number).await?.ok_or_else(missing)
}
