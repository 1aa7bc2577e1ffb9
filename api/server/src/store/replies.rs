//! Answers kept under their idempotency key.

use std::collections::HashMap;

use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter};
use uuid::Uuid;

use super::entity::replies::{ActiveModel, Column, Entity, Model};
use super::{Error, ROWS_PER_INSERT};

/// The answers on record for those keys, by caller and key.
pub async fn find_many(
    db: &impl ConnectionTrait,
    keys: impl IntoIterator<Item = &str>,
) -> Result<HashMap<(Uuid, String), Model>, Error> {
    let mut keys: Vec<&str> = keys.into_iter().collect();
    keys.sort_unstable();
    keys.dedup();
    let rows = Entity::find()
        .filter(Column::Key.is_in(keys.iter().copied()))
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
