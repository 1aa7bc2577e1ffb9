//! Queries on webhooks.

use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder};

use super::Error;
use super::entity::webhooks::{Column, Entity, Model};

/// All that are in use, oldest first.
pub async fn enabled(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::DisabledAt.is_null())
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}
