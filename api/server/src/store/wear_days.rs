//! Queries on what wear is learned from, day by day: kept up to date with each entry, like the totals.

use sea_orm::sea_query::{Expr, ExprTrait, OnConflict};
use sea_orm::{
    ColumnTrait, Condition, ConnectionTrait, EntityTrait, IntoActiveModel, QueryFilter, QueryOrder,
    QuerySelect,
};

use super::entity::wear_days::{ActiveModel, Column, Entity, Model};
use super::{Error, ROWS_PER_INSERT};

/// What is added up.
const SUMS: [Column; 9] = [
    Column::Events,
    Column::EventsCounted,
    Column::ArcSeconds,
    Column::ArcCounterSeconds,
    Column::ArcCylinderSeconds,
    Column::Grinds,
    Column::CutBacks,
    Column::Starts,
    Column::StudentDays,
];

/// The days of those parts at a site from a first day on, all groups, oldest first.
pub async fn find_many(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
    first: i64,
) -> Result<Vec<Model>, Error> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let these = Condition::all()
        .add(Column::SiteId.eq(site))
        .add(Column::PartId.is_in(parts.iter().copied()))
        .add(Column::Day.gte(first));
    let rows = Entity::find().filter(these).order_by_asc(Column::Day);
    Ok(rows.all(db).await?)
}

/// All days.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find().all(db).await?)
}

/// Whether there is no day at all.
pub async fn is_empty(db: &impl ConnectionTrait) -> Result<bool, Error> {
    Ok(Entity::find().limit(1).one(db).await?.is_none())
}

/// Adds to days, which may be new.
pub async fn add_many(db: &impl ConnectionTrait, rows: Vec<Model>) -> Result<(), Error> {
    let mut again = OnConflict::columns(KEY);
    for column in SUMS {
        let told = Expr::col(("excluded", column));
        again.value(column, Expr::col((Entity, column)).add(told));
    }
    upsert_many(db, rows, &again).await
}

/// Writes days as they are, new or not.
pub async fn put_many(db: &impl ConnectionTrait, rows: Vec<Model>) -> Result<(), Error> {
    let again = OnConflict::columns(KEY).update_columns(SUMS).to_owned();
    upsert_many(db, rows, &again).await
}

const KEY: [Column; 4] = [
    Column::PartId,
    Column::SiteId,
    Column::OperatorGroup,
    Column::Day,
];

async fn upsert_many(
    db: &impl ConnectionTrait,
    rows: Vec<Model>,
    again: &OnConflict,
) -> Result<(), Error> {
    for chunk in rows.chunks(ROWS_PER_INSERT) {
        let rows = chunk
            .iter()
            .cloned()
            .map(IntoActiveModel::<ActiveModel>::into_active_model);
        Entity::insert_many(rows)
            .on_conflict(again.clone())
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}
