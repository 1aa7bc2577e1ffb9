//! Queries on mail addresses.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::mail_addresses::{ActiveModel, Column, Entity, Model};

/// All of them, oldest first.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find().order_by_asc(Column::Id).all(db).await?)
}

/// The address of that id, if there is one.
pub async fn find(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(id)).await
}

/// A page, oldest first.
pub async fn list(
    db: &impl ConnectionTrait,
    after: Option<Uuid>,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find().order_by_asc(Column::Id).limit(limit);
    if let Some(after) = after {
        query = query.filter(Column::Id.gt(after));
    }
    Ok(query.all(db).await?)
}

/// Adds an address.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}

/// Replaces the columns that are set and counts an edit.
pub async fn edit(
    db: &impl ConnectionTrait,
    (id, version): (Uuid, i64),
    mut row: ActiveModel,
) -> Result<(), Error> {
    row.version = Set(version + 1);
    note(db, id, row).await
}

/// Replaces the columns that are set: what sending has shown, which is no edit.
pub async fn note(db: &impl ConnectionTrait, id: Uuid, row: ActiveModel) -> Result<(), Error> {
    Entity::update_many()
        .set(row)
        .filter(Column::Id.eq(id))
        .exec(db)
        .await?;
    Ok(())
}

/// Removes an address.
pub async fn delete(db: &impl ConnectionTrait, id: Uuid) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}
