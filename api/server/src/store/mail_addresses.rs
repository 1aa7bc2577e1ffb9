//! Queries on mail addresses.

use sea_orm::{ConnectionTrait, EntityTrait, QueryOrder};

use super::Error;
use super::entity::mail_addresses::{Column, Entity, Model};

/// All of them, oldest first.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find().order_by_asc(Column::Id).all(db).await?)
}
