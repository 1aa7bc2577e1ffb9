//! Queries on the keys that links in mails are signed with.

use sea_orm::{ActiveModelTrait, ConnectionTrait, EntityTrait, QueryOrder};

use super::Error;
use super::entity::link_keys::{ActiveModel, Column, Entity, Model};

/// All of them, newest first.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find().order_by_desc(Column::Id).all(db).await?)
}

/// Adds a key.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}
