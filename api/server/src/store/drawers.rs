//! Queries on drawers and the parts in them. A code names a drawer at its site only.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
    QuerySelect,
};

use super::Error;
use super::entity::drawer_parts as line;
use super::entity::drawers::{ActiveModel, Column, Entity, Model};

/// The drawer of a site with that sort key, if there is one.
pub async fn find(
    db: &impl ConnectionTrait,
    site: i64,
    sort_key: &str,
) -> Result<Option<Model>, Error> {
    let question = Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::SortKey.eq(sort_key));
    super::only(db, question).await
}

/// A page of the drawers of a site, after that sort key.
pub async fn list(
    db: &impl ConnectionTrait,
    site: i64,
    after: Option<&str>,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find()
        .filter(Column::SiteId.eq(site))
        .order_by_asc(Column::SortKey)
        .limit(limit);
    if let Some(after) = after {
        query = query.filter(Column::SortKey.gt(after));
    }
    Ok(query.all(db).await?)
}

/// All drawers of a site, in their order.
pub async fn all(db: &impl ConnectionTrait, site: i64) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .order_by_asc(Column::SortKey)
        .all(db)
        .await?)
}

/// What lies in those drawers, in the order in which it lies.
pub async fn contents(
    db: &impl ConnectionTrait,
    drawers: impl IntoIterator<Item = i64>,
) -> Result<Vec<line::Model>, Error> {
    let drawers: Vec<i64> = drawers.into_iter().collect();
    if drawers.is_empty() {
        return Ok(Vec::new());
    }
    Ok(line::Entity::find()
        .filter(line::Column::DrawerId.is_in(drawers))
        .order_by_asc(line::Column::Position)
        .all(db)
        .await?)
}

/// Where those parts lie at a site: part and drawer, in the order of the drawers.
pub async fn of_parts(
    db: &impl ConnectionTrait,
    site: i64,
    parts: impl IntoIterator<Item = i64>,
) -> Result<Vec<(i64, Model)>, Error> {
    let parts: Vec<i64> = parts.into_iter().collect();
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let rows = line::Entity::find()
        .find_both_related(Entity)
        .filter(line::Column::PartId.is_in(parts))
        .filter(Column::SiteId.eq(site))
        .order_by_asc(Column::SortKey)
        .all(db)
        .await?;
    Ok(rows
        .into_iter()
        .map(|(line, drawer)| (line.part_id, drawer))
        .collect())
}

/// Adds a drawer.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}

/// Replaces the columns that are set, if the row is still at `version`; whether it was.
pub async fn update(
    db: &impl ConnectionTrait,
    (id, version): (i64, i64),
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

/// Replaces what lies in a drawer.
pub async fn replace_contents(
    db: &impl ConnectionTrait,
    drawer: i64,
    parts: &[i64],
) -> Result<(), Error> {
    line::Entity::delete_many()
        .filter(line::Column::DrawerId.eq(drawer))
        .exec(db)
        .await?;
    if parts.is_empty() {
        return Ok(());
    }
    let rows = parts
        .iter()
        .zip(0..)
        .map(|(part, position)| line::ActiveModel {
            drawer_id: Set(drawer),
            part_id: Set(*part),
            position: Set(position),
        });
    line::Entity::insert_many(rows)
        .exec_without_returning(db)
        .await?;
    Ok(())
}

/// Removes a drawer, with its photos; the parts stay.
pub async fn delete(db: &impl ConnectionTrait, id: i64) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}
