//! Queries on lulls. Days are texts (YYYY-MM-DD), which compare as the days do.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::lulls::{ActiveModel, Column, Entity, Model};

/// The lull of that id, if there is one.
pub async fn find(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(id)).await
}

/// The lulls of a site that have a day from `first` to `last`, by their first day.
pub async fn within(
    db: &impl ConnectionTrait,
    site: i64,
    (first, last): (&str, &str),
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::First.lte(last))
        .filter(Column::Last.gte(first))
        .order_by_asc(Column::First)
        .all(db)
        .await?)
}

/// A page of the lulls of a site by their first day, after that day.
pub async fn list(
    db: &impl ConnectionTrait,
    site: i64,
    after: Option<&str>,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find()
        .filter(Column::SiteId.eq(site))
        .order_by_asc(Column::First)
        .limit(limit);
    if let Some(after) = after {
        query = query.filter(Column::First.gt(after));
    }
    Ok(query.all(db).await?)
}

/// Adds a lull.
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

/// Removes a lull.
pub async fn delete(db: &impl ConnectionTrait, id: Uuid) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}
