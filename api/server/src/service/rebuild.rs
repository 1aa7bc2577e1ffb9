//! The levels and sums, computed anew from the ledger alone. They must be what is kept; a test and
//! the command `rebuild` compare them.

use std::collections::{BTreeMap, BTreeSet};

use domain::ledger::{MovementKind, on_hand};
use sea_orm::DatabaseTransaction;

use super::ledger::{Books, Moved, facts, shares};
use super::{Context, Error, orders};
use crate::store;
use crate::store::entity::{entries, levels, wear};

/// Entries are walked in steps of so many.
const STEP: u64 = 500;

/// What a rebuild found: how many rows there are, and how many were wrong and are right now.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rebuilt {
    /// Levels that follow from the ledger.
    pub levels: usize,
    /// Of those, the ones that were kept otherwise.
    pub levels_wrong: usize,
    /// Sums of wear that follow from the ledger.
    pub wear: usize,
    /// Of those, the ones that were kept otherwise.
    pub wear_wrong: usize,
}

/// Computes all levels and sums anew and puts right what differs.
pub async fn rebuild(context: &Context) -> Result<Rebuilt, Error> {
    context.writer.write(|tx| Box::pin(rebuild_in(tx))).await
}

async fn rebuild_in(tx: &DatabaseTransaction) -> Result<Rebuilt, Error> {
    let mut books = Books::default();
    let mut keys = BTreeSet::new();
    let mut after = None;
    loop {
        let entries = store::entries::after(tx, after, STEP).await?;
        let Some(last) = entries.last() else { break };
        after = Some(last.id);
        fold(tx, &entries, &mut books, &mut keys).await?;
    }
    keys.extend(store::counts::keys(tx).await?);
    for key in keys {
        let facts = facts(tx, key, None).await?;
        books.put(key, on_hand(facts).map_err(|_| Error::Overflow)?);
    }
    for (key, pieces) in orders::to_come(tx).await? {
        books.order(key, pieces)?;
    }
    let kept_levels: BTreeMap<_, _> = store::levels::all(tx)
        .await?
        .into_iter()
        .map(|row| ((row.part_id, row.site_id), row))
        .collect();
    let kept_wear: BTreeMap<_, _> = store::wear::all(tx)
        .await?
        .into_iter()
        .map(|row| (wear_key(&row), row))
        .collect();
    // What is kept and follows from nothing must be nothing.
    for key in kept_levels.keys() {
        books.order(*key, 0)?;
    }
    for row in kept_wear.values() {
        books.expect_wear(row);
    }
    let (levels, wear) = books.rows();
    let wrong_levels: Vec<levels::Model> = levels
        .iter()
        .filter(|row| kept_levels.get(&(row.part_id, row.site_id)) != Some(row))
        .cloned()
        .collect();
    let wrong_wear: Vec<wear::Model> = wear
        .iter()
        .filter(|row| kept_wear.get(&wear_key(row)) != Some(row))
        .cloned()
        .collect();
    let rebuilt = Rebuilt {
        levels: levels.len(),
        levels_wrong: wrong_levels.len(),
        wear: wear.len(),
        wear_wrong: wrong_wear.len(),
    };
    store::levels::upsert_many(tx, wrong_levels).await?;
    store::wear::upsert_many(tx, wrong_wear).await?;
    Ok(rebuilt)
}

fn wear_key(row: &wear::Model) -> (i64, i64, String) {
    (row.part_id, row.site_id, row.operator_group.clone())
}

async fn fold(
    tx: &DatabaseTransaction,
    entries: &[entries::Model],
    books: &mut Books,
    keys: &mut BTreeSet<(i64, i64)>,
) -> Result<(), Error> {
    let of: BTreeMap<_, _> = entries.iter().map(|entry| (entry.id, entry)).collect();
    for row in store::movements::of_entries(tx, of.keys().copied()).await? {
        let Some(entry) = of.get(&row.entry_id) else {
            continue;
        };
        let kind =
            MovementKind::parse(&row.kind).map_err(|error| Error::Internal(error.to_string()))?;
        let group = &entry.operator_group;
        let moved = Moved {
            kind,
            quantity: row.quantity,
            at: row.happened_at,
            group,
        };
        books.move_part((row.part_id, row.site_id), moved)?;
        keys.insert((row.part_id, row.site_id));
    }
    let set_ups: BTreeSet<i64> = entries.iter().filter_map(|entry| entry.set_up_id).collect();
    let mut fitted: BTreeMap<i64, Vec<i64>> = BTreeMap::new();
    for row in store::torches::fitted(tx, set_ups).await? {
        fitted.entry(row.set_up_id).or_default().push(row.part_id);
    }
    for entry in entries {
        let parts = entry
            .set_up_id
            .and_then(|id| fitted.get(&id))
            .map_or(&[][..], Vec::as_slice);
        for (part, worn) in shares(entry, parts) {
            books.wear_part(
                (part, entry.site_id),
                &entry.operator_group,
                entry.happened_at,
                worn,
            )?;
        }
    }
    Ok(())
}
