//! Queries on events, in the order in which they were recorded.

use sea_orm::sea_query::Query;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, Condition, ConnectionTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::deliveries;
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

/// The newest events of those kinds, of one site and of none, or of all; newest first.
pub async fn newest(
    db: &impl ConnectionTrait,
    (kinds, site): (&[&str], Option<&str>),
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find()
        .filter(Column::Kind.is_in(kinds.iter().copied()))
        .order_by_desc(Column::Sequence)
        .limit(limit);
    if let Some(site) = site {
        let here = Condition::any()
            .add(Column::Site.eq(site))
            .add(Column::Site.is_null());
        query = query.filter(here);
    }
    Ok(query.all(db).await?)
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

/// Removes the events from before an instant (microseconds) that wait for nobody, with their deliveries,
/// but never the newest: it says how far the numbers have come. How many.
pub async fn forget(db: &impl ConnectionTrait, before: i64) -> Result<u64, Error> {
    let Some((_, newest)) = bounds(db).await? else {
        return Ok(0);
    };
    let waiting = Query::select()
        .column(deliveries::Column::EventSequence)
        .from(deliveries::Entity)
        .and_where(deliveries::Column::State.eq(super::deliveries::WAITING))
        .to_owned();
    let old: Vec<i64> = Entity::find()
        .filter(Column::At.lt(before))
        .filter(Column::Sequence.lt(newest))
        .filter(Column::Sequence.not_in_subquery(waiting))
        .limit(super::ROWS_PER_INSERT as u64)
        .all(db)
        .await?
        .iter()
        .map(|row| row.sequence)
        .collect();
    deliveries::Entity::delete_many()
        .filter(deliveries::Column::EventSequence.is_in(old.iter().copied()))
        .exec(db)
        .await?;
    let gone = Entity::delete_many()
        .filter(Column::Sequence.is_in(old))
        .exec(db)
        .await?;
    Ok(gone.rows_affected)
}
