//! Answers kept under their idempotency key.

use std::collections::{BTreeSet, HashMap};

use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter};
use uuid::Uuid;

use super::entity::replies::{ActiveModel, Column, Entity, Model};
use super::{Error, ROWS_PER_INSERT};

/// The answers on record for those callers and keys, and perhaps for other pairs of them.
pub async fn find_many<'k>(
    db: &impl ConnectionTrait,
    asked: impl IntoIterator<Item = (Uuid, &'k str)>,
) -> Result<HashMap<(Uuid, String), Model>, Error> {
    let (callers, keys): (BTreeSet<Uuid>, BTreeSet<&str>) = asked.into_iter().unzip();
    // The index begins with the caller: without one, every answer ever given would be looked at.
    let rows = Entity::find()
        .filter(Column::Caller.is_in(callers))
        .filter(Column::Key.is_in(keys))
        .all(db)
        .await?;
    Ok(rows
        .into_iter()
        .map(|row| ((row.caller, row.key.clone()), row))
        .collect())
}

/// Keeps answers.
pub async fn insert_many(db: &impl ConnectionTrait, rows: Vec<ActiveModel>) -> Result<(), Error> {
    for chunk in rows.chunks(ROWS_PER_INSERT) {
        Entity::insert_many(chunk.iter().cloned())
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}
