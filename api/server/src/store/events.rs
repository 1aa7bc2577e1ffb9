//! Queries on events, in the order in which they were recorded.

use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::events::{ActiveModel, Column, Entity, Model};

/// Adds an event; it gets the next number.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}

/// The event of that number, if it is kept.
pub async fn find(db: &impl ConnectionTrait, sequence: i64) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(sequence)).await
}

/// The event of that id, if it is kept.
pub async fn find_by_uuid(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find().filter(Column::Id.eq(id))).await
}

/// Up to `limit` events after that number, oldest first.
pub async fn after(
    db: &impl ConnectionTrait,
    sequence: i64,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::Sequence.gt(sequence))
        .order_by_asc(Column::Sequence)
        .limit(limit)
        .all(db)
        .await?)
}

/// The events of a kind since an instant (microseconds), oldest first.
pub async fn of_kind_since(
    db: &impl ConnectionTrait,
    kind: &str,
    since: i64,
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::Kind.eq(kind))
        .filter(Column::At.gte(since))
        .order_by_asc(Column::Sequence)
        .all(db)
        .await?)
}

/// The numbers of the oldest and the newest event that are kept, if there is one.
pub async fn bounds(db: &impl ConnectionTrait) -> Result<Option<(i64, i64)>, Error> {
    let oldest = Entity::find().order_by_asc(Column::Sequence).limit(1);
    let newest = Entity::find().order_by_desc(Column::Sequence).limit(1);
    let oldest = oldest.all(db).await?.pop();
    let newest = newest.all(db).await?.pop();
    Ok(oldest.zip(newest).map(|(a, b)| (a.sequence, b.sequence)))
}
