//! Queries on deliveries: events on their way to receivers.

use sea_orm::{ConnectionTrait, EntityTrait};

use super::Error;
use super::entity::deliveries::{ActiveModel, Entity};

/// Adds deliveries.
pub async fn insert_many(db: &impl ConnectionTrait, rows: Vec<ActiveModel>) -> Result<(), Error> {
    for chunk in rows.chunks(super::ROWS_PER_INSERT) {
        Entity::insert_many(chunk.to_vec())
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}
