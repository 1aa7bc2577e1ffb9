//! Changes of the terms of suppliers, kept as they happen and told later: the price of an offer, the lead time
//! that a supplier states. What delivery really takes is learned in `lead_times`.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use domain::quantity::{Currency, Money};
use sea_orm::ConnectionTrait;
use uuid::Uuid;

use super::{Error, instant, parts};
use crate::store;
use crate::store::entity::{offers, parts as part_rows, suppliers as supplier_rows, term_changes};

/// The price of an offer, in minor units of money for a pack.
const PRICE: &str = "price";
/// The lead time that a supplier states, in open days.
const LEAD_TIME: &str = "lead-time";

/// A change of terms, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The code of the part; none for a lead time, which is of the supplier.
    pub part: Option<String>,
    /// When it changed last.
    pub at: DateTime<Utc>,
    /// Who, what, and what it was before.
    pub says: String,
}

/// Keeps that the price of an offer changed, if it did: of the same part in the same packs of the same supplier.
///
/// # Errors
/// A failure of the store.
pub async fn note_price(
    db: &impl ConnectionTrait,
    (old, new): (&offers::Model, &offers::Model),
    now: DateTime<Utc>,
) -> Result<(), Error> {
    let of = |it: &offers::Model| (it.supplier_id, it.part_id, it.pack_size);
    if of(old) != of(new) || old.price_minor == new.price_minor {
        return Ok(());
    }
    let supplier = store::suppliers::get_many(db, [new.supplier_id]).await?;
    let row = term_changes::Model {
        part_id: Some(new.part_id),
        pack_size: Some(new.pack_size),
        currency: supplier.into_iter().next().map(|it| it.currency),
        ..changed(
            (new.supplier_id, PRICE),
            (old.price_minor, new.price_minor),
            now,
        )
    };
    Ok(store::term_changes::insert(db, row).await?)
}

/// Keeps that the lead time that a supplier states changed, if it did.
///
/// # Errors
/// A failure of the store.
pub async fn note_lead_time(
    db: &impl ConnectionTrait,
    (old, new): (&supplier_rows::Model, &supplier_rows::Model),
    now: DateTime<Utc>,
) -> Result<(), Error> {
    let days = (old.lead_time_days, new.lead_time_days);
    if days.0 == days.1 {
        return Ok(());
    }
    let row = changed((new.id, LEAD_TIME), days, now);
    Ok(store::term_changes::insert(db, row).await?)
}

fn changed(
    (supplier_id, term): (i64, &str),
    (was, became): (i64, i64),
    now: DateTime<Utc>,
) -> term_changes::Model {
    term_changes::Model {
        id: Uuid::now_v7(),
        at: now.timestamp_micros(),
        supplier_id,
        part_id: None,
        pack_size: None,
        term: term.to_owned(),
        was,
        became,
        currency: None,
    }
}

/// What changed after one instant, up to another: each term once, with what it was before the first of its
/// changes. What was changed back is left out, and so is what is of a supplier or a part that is gone.
///
/// # Errors
/// A failure of the store.
pub async fn between(
    db: &impl ConnectionTrait,
    (from, to): (DateTime<Utc>, DateTime<Utc>),
) -> Result<Vec<Change>, Error> {
    let within = (from.timestamp_micros(), to.timestamp_micros());
    let mut changes: Vec<term_changes::Model> = Vec::new();
    for row in store::term_changes::between(db, within).await? {
        let of =
            |it: &term_changes::Model| (it.supplier_id, it.part_id, it.pack_size, it.term.clone());
        match changes.iter_mut().find(|it| of(it) == of(&row)) {
            Some(first) => {
                (first.at, first.became) = (row.at, row.became);
                first.currency = row.currency;
            }
            None => changes.push(row),
        }
    }
    changes.retain(|it| it.was != it.became);
    let sellers = store::suppliers::get_many(db, changes.iter().map(|it| it.supplier_id)).await?;
    let sellers: HashMap<i64, String> = sellers.into_iter().map(|it| (it.id, it.name)).collect();
    let parts = store::parts::get_many(db, changes.iter().filter_map(|it| it.part_id)).await?;
    let parts: HashMap<i64, part_rows::Model> = parts.into_iter().map(|it| (it.id, it)).collect();
    let mut told = Vec::with_capacity(changes.len());
    for change in &changes {
        let Some(supplier) = sellers.get(&change.supplier_id) else {
            continue;
        };
        told.extend(match change.part_id {
            None => Some(lead_time(change, supplier)),
            Some(id) => parts
                .get(&id)
                .map(|part| price(change, supplier, part))
                .transpose()?,
        });
    }
    Ok(told)
}

/// `Quayhead delivers in 7 open days, 5 before.`
fn lead_time(change: &term_changes::Model, supplier: &str) -> Change {
    let days = if change.became == 1 { "day" } else { "days" };
    Change {
        part: None,
        at: instant::from_micros(change.at),
        says: format!(
            "{supplier} delivers in {} open {days}, {} before.",
            change.became, change.was
        ),
    }
}

/// `Quayhead: WLa20-2.4 in packs of 10 costs 45.00 CAD, 42.00 CAD before.`
fn price(
    change: &term_changes::Model,
    supplier: &str,
    part: &part_rows::Model,
) -> Result<Change, Error> {
    let unit = parts::spec(part)?.kind().unit();
    let packs = match change.pack_size.unwrap_or(1) {
        1 => String::new(),
        size => format!(" in packs of {}", unit.amount(size)),
    };
    let amount = |minor| money(minor, change.currency.as_deref().unwrap_or_default());
    Ok(Change {
        part: Some(part.code.clone()),
        at: instant::from_micros(change.at),
        says: format!(
            "{supplier}: {}{packs} costs {}, {} before.",
            part.code,
            amount(change.became),
            amount(change.was)
        ),
    })
}

fn money(minor: i64, currency: &str) -> String {
    let told = Currency::parse(currency).and_then(|currency| Money::new(minor, currency));
    told.map_or_else(|_| format!("{minor} {currency}"), |money| money.to_string())
}
