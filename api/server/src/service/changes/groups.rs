//! What changed of each sort: what arrived, was used and ran low, orders, prices and lead times,
//! questions, counts, and what was told late.

use std::collections::BTreeMap;

use domain::ledger::MovementKind;
use sea_orm::ConnectionTrait;
use types::{ChangeGroup, ChangeLine};

use super::{Between, group, suppliers_of};
use crate::service::ahead::{Options, Reading};
use crate::service::known::{self, View};
use crate::service::ledger::book;
use crate::service::{Error, instant, terms};
use crate::store;
use crate::store::entity::parts as part_rows;
use crate::store::movements::{Changed, Told};
use crate::store::questions::{OPEN, Which};

/// All groups that have a line.
pub(super) async fn all(
    db: &impl ConnectionTrait,
    between: &Between,
) -> Result<Vec<ChangeGroup>, Error> {
    let (from, to) = between.micros();
    let moved = store::movements::changed(db, between.site.id, Told::Within(from, to)).await?;
    let late = store::movements::changed(db, between.site.id, Told::Late(from, to)).await?;
    let groups = [
        group("arrived", "Arrived", arrived(db, between, &moved).await?),
        group("used", "Used", used(between, &moved)?),
        group("ran-low", "Ran low", ran_low(db, between).await?),
        group("orders", "Orders changed", orders(db, between).await?),
        group(
            "terms",
            "Prices and lead times",
            changed_terms(db, between).await?,
        ),
        group("questions", "Questions", questions(db, between).await?),
        group("counts", "Counts", counts(db, between).await?),
        group("told-late", "Told late", told_late(between, &late)?),
    ];
    Ok(groups.into_iter().flatten().collect())
}

fn kind(row: &Changed) -> Result<MovementKind, Error> {
    MovementKind::parse(&row.kind).map_err(|error| Error::Internal(error.to_string()))
}

/// What came in, by part and order.
async fn arrived(
    db: &impl ConnectionTrait,
    between: &Between,
    moved: &[Changed],
) -> Result<Vec<ChangeLine>, Error> {
    let orders = moved.iter().filter_map(|row| row.order_id);
    let orders = store::orders::get_many(db, orders).await?;
    let sellers = suppliers_of(db, orders.iter().map(|order| order.supplier_id)).await?;
    let mut lines = Vec::new();
    for row in moved.iter().filter(|row| row.quantity > 0) {
        if kind(row)? != MovementKind::Receipt {
            continue;
        }
        let order = orders.iter().find(|order| Some(order.id) == row.order_id);
        let seller = order.and_then(|order| sellers.get(&order.supplier_id));
        let from = order.map_or(String::new(), |order| {
            let seller = seller.map_or("", String::as_str);
            format!(" from {seller}, order {}", order.id)
        });
        let at = instant::from_micros(row.last_at);
        lines.push(ChangeLine {
            part: between.code(row.part_id),
            order: row.order_id,
            quantity: Some(row.quantity),
            at: Some(at),
            says: format!(
                "{}{from}, {}.",
                between.amount(row.part_id, row.quantity)?,
                between.day(at)
            ),
            ..ChangeLine::default()
        });
    }
    lines.sort_by_key(|line| line.at);
    Ok(lines)
}

/// What was used, by part, the most first.
fn used(between: &Between, moved: &[Changed]) -> Result<Vec<ChangeLine>, Error> {
    let mut uses: BTreeMap<i64, (i64, i64)> = BTreeMap::new();
    for row in moved {
        let kind = kind(row)?;
        let events = kind.wear_events(row.quantity);
        if events != 0 {
            let (all, unlogged) = uses.entry(row.part_id).or_default();
            *all += events;
            if kind == MovementKind::UnloggedUse {
                *unlogged += events;
            }
        }
    }
    let mut lines = Vec::new();
    for (part, (all, unlogged)) in uses.into_iter().filter(|(_, (all, _))| *all != 0) {
        let found = if unlogged > 0 {
            format!(", {unlogged} of them found missing by a count")
        } else {
            String::new()
        };
        lines.push(ChangeLine {
            part: between.code(part),
            quantity: Some(all),
            says: format!("{}{found}.", between.amount(part, all)?),
            ..ChangeLine::default()
        });
    }
    lines.sort_by_key(|line| std::cmp::Reverse(line.quantity));
    Ok(lines)
}

/// Parts of which what is available fell to their order point.
async fn ran_low(db: &impl ConnectionTrait, between: &Between) -> Result<Vec<ChangeLine>, Error> {
    let ids: Vec<i64> = between.parts.keys().copied().collect();
    let these = (between.site.id, &ids[..]);
    let then = known::levels(db, View::received_by(between.from), these).await?;
    let now = known::levels(db, between.view, these).await?;
    let available = |books: &std::collections::HashMap<i64, _>, part: &part_rows::Model| {
        let book = books.get(&part.id).copied().unwrap_or_default();
        book::level(&book, part, &between.site).usable()
    };
    let fallen: Vec<part_rows::Model> = between
        .parts
        .values()
        .filter(|part| available(&now, part) < available(&then, part))
        .cloned()
        .collect();
    let reading = Reading::load(db, &fallen, &between.site, between.view).await?;
    let mut lines = Vec::new();
    for part in &fallen {
        // Of a part without a record, or that nobody offers, there is no order point.
        let Ok(ahead) = reading.part(part, &Options::default())? else {
            continue;
        };
        let Some(point) = ahead.order_point()? else {
            continue;
        };
        let (before, after) = (available(&then, part), available(&now, part));
        if before <= point || after > point {
            continue;
        }
        let on_order = ahead.level().on_order;
        let coming = if on_order > 0 {
            format!("; {on_order} on order")
        } else {
            String::new()
        };
        lines.push(ChangeLine {
            part: Some(part.code.clone()),
            before: Some(before),
            after: Some(after),
            says: format!(
                "{} available, {before} before; order point {point}{coming}.",
                between.amount(part.id, after)?
            ),
            ..ChangeLine::default()
        });
    }
    Ok(lines)
}

/// Orders that were placed or cancelled.
async fn orders(db: &impl ConnectionTrait, between: &Between) -> Result<Vec<ChangeLine>, Error> {
    let rows = store::orders::changed(db, between.site.id, between.micros()).await?;
    let sellers = suppliers_of(db, rows.iter().map(|order| order.supplier_id)).await?;
    let within = |at: Option<i64>| {
        let (from, to) = between.micros();
        at.filter(|at| (from + 1..=to).contains(at))
    };
    let mut lines = Vec::new();
    for order in &rows {
        let seller = sellers.get(&order.supplier_id).map_or("", String::as_str);
        for (what, at) in [
            ("placed", within(order.placed_at)),
            ("cancelled", within(order.cancelled_at)),
        ] {
            let Some(at) = at.map(instant::from_micros) else {
                continue;
            };
            let expected = between.expected.iter().find(|it| it.order.id == order.id);
            let due = expected
                .filter(|_| what == "placed")
                .map_or(String::new(), |it| {
                    format!(", due {}", it.due.format("%a %-d %b"))
                });
            lines.push(ChangeLine {
                order: Some(order.id),
                at: Some(at),
                says: format!(
                    "Order {} to {seller} was {what} {}{due}; it is {}.",
                    order.id,
                    between.day(at),
                    order.state
                ),
                ..ChangeLine::default()
            });
        }
    }
    lines.sort_by_key(|line| line.at);
    Ok(lines)
}

/// Prices and lead times that changed.
async fn changed_terms(
    db: &impl ConnectionTrait,
    between: &Between,
) -> Result<Vec<ChangeLine>, Error> {
    let changes = terms::between(db, (between.from, between.to())).await?;
    let lines = changes.into_iter().map(|change| ChangeLine {
        part: change.part,
        at: Some(change.at),
        says: change.says,
        ..ChangeLine::default()
    });
    Ok(lines.collect())
}

/// Questions that came up and wait for an answer.
async fn questions(db: &impl ConnectionTrait, between: &Between) -> Result<Vec<ChangeLine>, Error> {
    let which = Which {
        state: Some(OPEN.to_owned()),
        site: Some(between.site.id),
        ..Which::default()
    };
    let open = store::questions::list(db, which, 500).await?;
    let (from, to) = between.micros();
    let new = open
        .into_iter()
        .rev()
        .filter(|question| (from + 1..=to).contains(&question.asked_at));
    let lines = new.map(|question| ChangeLine {
        part: question.part_id.and_then(|part| between.code(part)),
        question: Some(question.id),
        at: Some(instant::from_micros(question.asked_at)),
        says: format!("{}: {}", question.id, question.says),
        ..ChangeLine::default()
    });
    Ok(lines.collect())
}

/// Counts, with the book before them.
async fn counts(db: &impl ConnectionTrait, between: &Between) -> Result<Vec<ChangeLine>, Error> {
    let rows = store::counts::standing_at(db, between.site.id, between.micros()).await?;
    let mut lines = Vec::new();
    for row in rows {
        let off = row.counted - row.book;
        let against = if off == 0 {
            "as the book said".to_owned()
        } else {
            format!("the book said {} ({off:+})", row.book)
        };
        let at = instant::from_micros(row.happened_at);
        lines.push(ChangeLine {
            part: between.code(row.part_id),
            quantity: Some(off),
            before: Some(row.book),
            after: Some(row.counted),
            at: Some(at),
            says: format!(
                "{} counted {}, {against}.",
                between.amount(row.part_id, row.counted)?,
                between.day(at)
            ),
            ..ChangeLine::default()
        });
    }
    // Those that differ come first: they say something.
    lines.sort_by_key(|line| (line.quantity == Some(0), line.at));
    Ok(lines)
}

/// What was recorded now and happened before, by part.
fn told_late(between: &Between, late: &[Changed]) -> Result<Vec<ChangeLine>, Error> {
    let mut changes: BTreeMap<i64, i64> = BTreeMap::new();
    for row in late {
        *changes.entry(row.part_id).or_default() += kind(row)?.on_hand_sign() * row.quantity;
    }
    let mut lines = Vec::new();
    for (part, change) in changes.into_iter().filter(|(_, change)| *change != 0) {
        let sign = if change > 0 { "+" } else { "" };
        lines.push(ChangeLine {
            part: between.code(part),
            quantity: Some(change),
            says: format!(
                "{sign}{}, dated before {}.",
                between.amount(part, change)?,
                between.day(between.from)
            ),
            ..ChangeLine::default()
        });
    }
    Ok(lines)
}
