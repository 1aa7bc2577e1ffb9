//! The levels and sums, computed anew from the ledger alone. They must be what is kept; a test and
//! the command `rebuild` compare them. The computation itself is in `known`, which also tells the past.

use std::collections::BTreeMap;

use sea_orm::DatabaseTransaction;

use super::known::{CurrentKey, current_key};
use super::ledger::book;
use super::{Context, Error, known};
use crate::store;
use crate::store::entity::{levels, wear, wear_currents, wear_days};
use crate::store::past::Facts;
use domain::ledger::Book;

/// So many parts are computed at once.
const STEP: usize = 200;
/// More rows than there are.
const ALL: u64 = u64::MAX >> 1;

/// What a rebuild found: how many rows there are, and how many were wrong and are right now.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rebuilt {
    /// Levels that follow from the ledger.
    pub levels: usize,
    /// Of those, the ones that were kept otherwise.
    pub levels_wrong: usize,
    /// Sums of wear that follow from the ledger, of days, by current and in all.
    pub wear: usize,
    /// Of those, the ones that were kept otherwise.
    pub wear_wrong: usize,
}

/// Computes all levels and sums anew and puts right what differs.
pub async fn rebuild(context: &Context) -> Result<Rebuilt, Error> {
    context.writer.write(|tx| Box::pin(rebuild_in(tx))).await
}

/// Computes the sums of wear by day and by current of a database from before they were kept; of any other it
/// changes nothing.
pub async fn fill_days(context: &Context) -> Result<bool, Error> {
    let db = context.store.read();
    let has_days = !store::wear_days::is_empty(db).await? || store::wear::is_empty(db).await?;
    if has_days && !store::wear_currents::is_missing(db).await? {
        return Ok(false);
    }
    rebuild(context).await?;
    Ok(true)
}

type Levels = BTreeMap<(i64, i64), levels::Model>;
type Wear = BTreeMap<(i64, i64, String), wear::Model>;
type Days = BTreeMap<(i64, i64, String, i64), wear_days::Model>;
type Currents = BTreeMap<CurrentKey, wear_currents::Model>;

async fn rebuild_in(tx: &DatabaseTransaction) -> Result<Rebuilt, Error> {
    let kept_levels: Levels = store::levels::all(tx)
        .await?
        .into_iter()
        .map(|row| ((row.part_id, row.site_id), row))
        .collect();
    let kept_wear: Wear = store::wear::all(tx)
        .await?
        .into_iter()
        .map(|row| (wear_key(&row), row))
        .collect();
    let kept_days: Days = store::wear_days::all(tx)
        .await?
        .into_iter()
        .map(|row| (day_key(&row), row))
        .collect();
    let (mut levels, mut wear, mut days) = (Levels::new(), Wear::new(), Days::new());
    let parts = store::parts::list(tx, None, ALL).await?;
    let parts: Vec<i64> = parts.iter().map(|row| row.id).collect();
    for site in store::sites::list(tx, None, ALL).await? {
        let site = site.id;
        for parts in parts.chunks(STEP) {
            for (part, book) in known::levels_from(tx, Facts::All, (site, parts)).await? {
                levels.insert((part, site), book::row(&book, (part, site)));
            }
            let worn = known::worn_from(tx, Facts::All, (site, parts)).await?;
            wear.extend(
                known::totals(&worn)?
                    .into_iter()
                    .map(|row| (wear_key(&row), row)),
            );
            days.extend(
                worn.into_iter()
                    .map(|worn| (day_key(&worn.sums), worn.sums)),
            );
        }
    }
    // What is kept and follows from nothing must be nothing.
    for key in kept_levels.keys() {
        let nothing = || book::row(&Book::default(), *key);
        levels.entry(*key).or_insert_with(nothing);
    }
    for key in kept_wear.keys() {
        let nothing = || known::nothing((key.0, key.1), key.2.clone());
        wear.entry(key.clone()).or_insert_with(nothing);
    }
    for key in kept_days.keys() {
        let nothing = || known::nothing_on((key.0, key.1), key.2.clone(), key.3);
        days.entry(key.clone()).or_insert_with(nothing);
    }
    let rebuilt = put_right(
        (kept_levels, levels),
        (kept_wear, wear),
        (kept_days, days),
        tx,
    );
    let rebuilt = rebuilt.await?;
    let (currents, wrong) = rebuild_currents(tx, &parts).await?;
    Ok(Rebuilt {
        wear: rebuilt.wear + currents,
        wear_wrong: rebuilt.wear_wrong + wrong,
        ..rebuilt
    })
}

/// The sums by current: how many there are, and how many were kept otherwise.
async fn rebuild_currents(
    tx: &DatabaseTransaction,
    parts: &[i64],
) -> Result<(usize, usize), Error> {
    let by_key = |rows: Vec<wear_currents::Model>| -> Currents {
        let rows = rows.into_iter();
        rows.map(|row| (current_key(&row), row)).collect()
    };
    let kept = by_key(store::wear_currents::all(tx).await?);
    let mut right = Currents::new();
    for site in store::sites::list(tx, None, ALL).await? {
        for parts in parts.chunks(STEP) {
            let told = known::currents_from(tx, Facts::All, (site.id, parts)).await?;
            right.extend(by_key(told));
        }
    }
    for key in kept.keys() {
        let nothing = || known::nothing_at(key.clone());
        right.entry(key.clone()).or_insert_with(nothing);
    }
    let (all, wrong) = compare((kept, right));
    let count = wrong.len();
    store::wear_currents::put_many(tx, wrong).await?;
    Ok((all, count))
}

/// Of rows that follow from the ledger, how many there are and those that were kept otherwise.
fn compare<K: Ord, Row: PartialEq>(
    (kept, right): (BTreeMap<K, Row>, BTreeMap<K, Row>),
) -> (usize, Vec<Row>) {
    let all = right.len();
    let wrong = right
        .into_iter()
        .filter(|(key, row)| kept.get(key) != Some(row))
        .map(|(_, row)| row);
    (all, wrong.collect())
}

async fn put_right(
    levels: (Levels, Levels),
    wear: (Wear, Wear),
    days: (Days, Days),
    tx: &DatabaseTransaction,
) -> Result<Rebuilt, Error> {
    let (levels, wrong_levels) = compare(levels);
    let (wear, wrong_wear) = compare(wear);
    let (days, wrong_days) = compare(days);
    let rebuilt = Rebuilt {
        levels,
        levels_wrong: wrong_levels.len(),
        wear: wear + days,
        wear_wrong: wrong_wear.len() + wrong_days.len(),
    };
    store::levels::upsert_many(tx, wrong_levels).await?;
    store::wear::upsert_many(tx, wrong_wear).await?;
    store::wear_days::put_many(tx, wrong_days).await?;
    Ok(rebuilt)
}

fn wear_key(row: &wear::Model) -> (i64, i64, String) {
    (row.part_id, row.site_id, row.operator_group.clone())
}

fn day_key(row: &wear_days::Model) -> (i64, i64, String, i64) {
    (
        row.part_id,
        row.site_id,
        row.operator_group.clone(),
        row.day,
    )
}
