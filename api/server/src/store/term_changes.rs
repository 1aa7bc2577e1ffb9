//! Queries on changes of the terms of suppliers.

use sea_orm::{
    ColumnTrait, ConnectionTrait, EntityTrait, IntoActiveModel, QueryFilter, QueryOrder,
};

use super::Error;
use super::entity::term_changes::{Column, Entity, Model};

/// Adds a change.
pub async fn insert(db: &impl ConnectionTrait, row: Model) -> Result<(), Error> {
    Entity::insert(row.into_active_model())
        .exec_without_returning(db)
        .await?;
    Ok(())
}

/// The changes after one instant, up to another, oldest first.
pub async fn between(
    db: &impl ConnectionTrait,
    (from, to): (i64, i64),
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::At.gt(from))
        .filter(Column::At.lte(to))
        .order_by_asc(Column::At)
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}
