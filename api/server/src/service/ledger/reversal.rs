//! Taking an entry back. The entry stays; a new one, dated the same instant, undoes what it did to
//! stock and wear.

use std::collections::BTreeSet;

use chrono::TimeDelta;
use domain::ledger::{Count, Fact, MovementKind, on_hand};
use sea_orm::DatabaseTransaction;
use types::{NewReversal, Recorded, Role, StockAfter, UNDO_MINUTES};
use uuid::Uuid;

use super::books::{Books, Key, Occasion};
use super::page::{NewRow, Page};
use super::{Answer, Request, lot, shares, words};
use crate::service::{Error, instant, questions};
use crate::store;
use crate::store::entity::{entries, movements};

/// Takes an entry back.
pub(super) async fn record(
    tx: &DatabaseTransaction,
    (request, reversal): (&Request, &NewReversal),
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let entry = store::entries::find(tx, reversal.entry)
        .await?
        .ok_or_else(|| {
            let why = format!(
                "there is no entry {}; see the answer to what you logged",
                reversal.entry
            );
            Error::invalid("/entry", why)
        })?;
    check(tx, request, &entry).await?;
    let back = entries::Model {
        id: Uuid::now_v7(),
        kind: "reversal".to_owned(),
        reverses: Some(entry.id),
        why: reversal.why.clone(),
        what: None,
        arc_seconds: -entry.arc_seconds,
        grinds: -entry.grinds,
        cut_backs: -entry.cut_backs,
        starts: -entry.starts,
        student_days: -entry.student_days,
        key_id: request.caller.key,
        received_at: request.received_at.timestamp_micros(),
        ..entry.clone()
    };
    let mut touched = unmove(tx, &entry, &back, (books, page)).await?;
    unwear(tx, &back, books).await?;
    touched.extend(uncount(tx, &entry, books).await?);
    super::stub::unmove(tx, &entry, &back, page).await?;
    let stock = stock_after(tx, &touched, books).await?;
    let now = request.received_at.timestamp_micros();
    questions::close_about(tx, entry.id, now).await?;
    super::barred::untell(tx, &entry, now).await?;
    let what = words::entry(&entry);
    let says = format!("Taken back: {what}.{}", words::left(&stock));
    let recorded = Recorded {
        entry: back.id,
        differences: Vec::new(),
        stock,
        says,
        cautions: Vec::new(),
        questions: Vec::new(),
    };
    page.enter(back);
    page.answer(request, &recorded)
}

/// The stock of everything that was touched; with its site where that is more than one.
async fn stock_after(
    tx: &DatabaseTransaction,
    touched: &[Key],
    books: &Books,
) -> Result<Vec<StockAfter>, Error> {
    let touched: BTreeSet<Key> = touched.iter().copied().collect();
    let parts = store::parts::get_many(tx, touched.iter().map(|(part, _)| *part)).await?;
    let sites = store::sites::get_many(tx, touched.iter().map(|(_, site)| *site)).await?;
    let each = parts
        .iter()
        .flat_map(|part| sites.iter().map(move |site| (part, site)));
    let stock = each
        .filter(|(part, site)| touched.contains(&(part.id, site.id)))
        .map(|(part, site)| StockAfter {
            site: (sites.len() > 1).then(|| site.code.clone()),
            ..books.after(part, site)
        });
    Ok(stock.collect())
}

async fn check(
    tx: &DatabaseTransaction,
    request: &Request,
    entry: &entries::Model,
) -> Result<(), Error> {
    if entry.kind == "allocation" {
        let why = "it promised pieces to a job; allocate another number instead";
        return Err(Error::invalid("/entry", why));
    }
    if entry.kind == "reversal" {
        let why = "it takes another entry back already; log what happened as a new entry";
        return Err(Error::invalid("/entry", why));
    }
    if store::entries::reversal_of(tx, entry.id).await?.is_some() {
        let why = format!("entry {} was taken back before", entry.id);
        return Err(Error::WrongState(why));
    }
    let age = request.received_at - instant::from_micros(entry.received_at);
    if age > TimeDelta::minutes(UNDO_MINUTES) && request.caller.role < Role::Keep {
        let why = format!(
            "it was logged more than {UNDO_MINUTES} minutes ago; ask someone whose key has the role keep"
        );
        return Err(Error::invalid("/entry", why));
    }
    Ok(())
}

/// Moves back what the entry moved. Goods that came in for an order are on order again.
async fn unmove(
    tx: &DatabaseTransaction,
    entry: &entries::Model,
    back: &entries::Model,
    (books, page): (&mut Books, &mut Page),
) -> Result<Vec<Key>, Error> {
    let movements = store::movements::of_entries(tx, [entry.id]).await?;
    books
        .add(tx, movements.iter().map(|row| (row.part_id, row.site_id)))
        .await?;
    check_held(tx, entry, &movements, books).await?;
    for row in &movements {
        let kind =
            MovementKind::parse(&row.kind).map_err(|error| Error::Internal(error.to_string()))?;
        if let Some(order) = row.order_id {
            super::arrival::unreceive(tx, order, row, books).await?;
        }
        let row = NewRow {
            part: row.part_id,
            site: row.site_id,
            kind,
            quantity: -row.quantity,
            order: row.order_id,
        };
        // What followed from it when it was told is one of its rows, and nothing follows now.
        page.add_row(back, row, books)?;
    }
    Ok(movements
        .into_iter()
        .map(|row| (row.part_id, row.site_id))
        .collect())
}

/// A hold whose pieces are free or gone since cannot be taken back: less than nothing would be on
/// hold. Nor can a transfer of a lot that is on hold where it came to, since it stays there.
async fn check_held(
    tx: &DatabaseTransaction,
    entry: &entries::Model,
    movements: &[movements::Model],
    books: &mut Books,
) -> Result<(), Error> {
    let lot = entry.lot.as_deref();
    books.add_lots(tx, lot.into_iter()).await?;
    let of = |kind: MovementKind| {
        let these = movements.iter();
        these.filter(move |row| row.kind == kind.as_str())
    };
    if of(MovementKind::Hold).next().is_some() {
        let parts = movements.iter().map(|row| row.part_id);
        books.add_held(tx, parts).await?;
    }
    for row in of(MovementKind::Hold) {
        if row.quantity > books.held((row.part_id, row.site_id), lot) {
            return Err(Error::WrongState(format!(
                "entry {} put {} on hold, and some were released or are gone since; take that back first",
                row.entry_id, row.quantity
            )));
        }
    }
    for row in of(MovementKind::Transfer).filter(|row| row.quantity > 0) {
        let Some(lot) = lot else { continue };
        let book = books.lot(&lot::key(row.part_id, row.site_id, lot));
        if !lot::is_free(book, row.quantity) {
            return Err(Error::WrongState(format!(
                "lot {lot} is on hold where entry {} moved it: {} of {} left; release it first",
                row.entry_id, book.on_hold, book.left
            )));
        }
    }
    Ok(())
}

/// Takes back the exposure of what was fitted.
async fn unwear(
    tx: &DatabaseTransaction,
    back: &entries::Model,
    books: &mut Books,
) -> Result<(), Error> {
    let fitted = store::torches::fitted(tx, back.set_up_id).await?;
    let fitted: Vec<i64> = fitted.iter().map(|row| row.part_id).collect();
    let shares = shares(back, &fitted);
    let keys = shares.iter().map(|(part, _)| (*part, back.site_id));
    books.add(tx, keys).await?;
    for (part, worn) in shares {
        let key = (part, back.site_id);
        books.wear_part(key, &back.operator_group, Occasion::of(back), worn)?;
    }
    Ok(())
}

/// Folds anew the level that stood on a count.
async fn uncount(
    tx: &DatabaseTransaction,
    entry: &entries::Model,
    books: &mut Books,
) -> Result<Vec<Key>, Error> {
    let counts = store::counts::of_entries(tx, [entry.id]).await?;
    books
        .add(tx, counts.iter().map(|row| (row.part_id, row.site_id)))
        .await?;
    for row in &counts {
        let key = (row.part_id, row.site_id);
        let facts = facts(tx, key, Some(entry.id)).await?;
        books.put(key, on_hand(facts).map_err(|_| Error::Overflow)?);
        books.explain(key);
    }
    Ok(counts
        .into_iter()
        .map(|row| (row.part_id, row.site_id))
        .collect())
}

/// Every fact on record about a part at a site; `without` leaves out the count of one entry.
async fn facts(
    db: &impl sea_orm::ConnectionTrait,
    key: Key,
    without: Option<Uuid>,
) -> Result<Vec<Fact>, Error> {
    let movements = store::movements::of_part(db, key).await?;
    let counts = store::counts::standing(db, key).await?;
    let movements = movements.iter().map(|row| {
        let sign = MovementKind::parse(&row.kind).map_or(0, MovementKind::on_hand_sign);
        Fact::Movement {
            at: instant::from_micros(row.happened_at),
            quantity: sign * row.quantity,
        }
    });
    let counts = counts
        .iter()
        .filter(|row| Some(row.entry_id) != without)
        .map(|row| {
            Fact::Count(Count {
                at: instant::from_micros(row.happened_at),
                counted: row.counted,
                id: row.entry_id.as_u128(),
            })
        });
    Ok(movements.chain(counts).collect())
}
