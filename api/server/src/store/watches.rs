//! Queries on watches.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
};
use uuid::Uuid;

use super::Error;
use super::entity::watches::{ActiveModel, Column, Entity, Model};

/// The watch of that id, if there is one.
pub async fn find(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(id)).await
}

/// All watches of a site, by their subjects.
pub async fn at_site(db: &impl ConnectionTrait, site: i64) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .order_by_asc(Column::Subject)
        .all(db)
        .await?)
}

/// Adds a watch.
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

/// Removes a watch.
pub async fn delete(db: &impl ConnectionTrait, id: Uuid) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}
