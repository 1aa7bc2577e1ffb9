//! Queries on the shop's own bands of current.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::current_bands::{ActiveModel, Column, Entity, Model};

/// The band of that id, if there is one.
pub async fn find(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(id)).await
}

/// All bands of a setting.
pub async fn of_setting(db: &impl ConnectionTrait, setting: &str) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::Setting.eq(setting))
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
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

/// Adds a band.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}

/// Replaces the columns that are set, if the row is still at `version`; whether it was.
pub async fn update(
    db: &impl ConnectionTrait,
    (id, version): (Uuid, i64),
    mut row: ActiveModel,
) -> Result<bool, Error> {
    row.version = Set(version + 1);
    let done = Entity::update_many()
        .set(row)
        .filter(Column::Id.eq(id))
        .filter(Column::Version.eq(version))
        .exec(db)
        .await?;
    Ok(done.rows_affected == 1)
}

/// Removes a band.
pub async fn delete(db: &impl ConnectionTrait, id: Uuid) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}
