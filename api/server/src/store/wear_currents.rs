//! Queries on what wear is learned from, by the current that was told: kept up to date with each entry, like the
//! totals.

use sea_orm::sea_query::{Expr, ExprTrait, OnConflict};
use sea_orm::{
    ColumnTrait, Condition, ConnectionTrait, EntityTrait, IntoActiveModel, QueryFilter, QuerySelect,
};

use super::entity::entries;
use super::entity::wear_currents::{ActiveModel, Column, Entity, Model};
use super::{Error, ROWS_PER_INSERT};

/// What is added up.
const SUMS: [Column; 3] = [Column::Events, Column::ArcSeconds, Column::Grinds];

const KEY: [Column; 5] = [
    Column::PartId,
    Column::SiteId,
    Column::OperatorGroup,
    Column::Polarity,
    Column::Amps,
];

/// The sums of those parts at a site, all groups.
pub async fn find_many(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
) -> Result<Vec<Model>, Error> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let these = Condition::all()
        .add(Column::SiteId.eq(site))
        .add(Column::PartId.is_in(parts.iter().copied()));
    Ok(Entity::find().filter(these).all(db).await?)
}

/// All sums.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find().all(db).await?)
}

/// Whether nothing is kept although a current was told: a database from before these sums.
pub async fn is_missing(db: &impl ConnectionTrait) -> Result<bool, Error> {
    if Entity::find().limit(1).one(db).await?.is_some() {
        return Ok(false);
    }
    let told = Condition::any()
        .add(entries::Column::Polarity.is_not_null())
        .add(entries::Column::Amps.is_not_null());
    let any = entries::Entity::find().filter(told).limit(1);
    Ok(any.one(db).await?.is_some())
}

/// Adds to sums, which may be new.
pub async fn add_many(db: &impl ConnectionTrait, rows: Vec<Model>) -> Result<(), Error> {
    let mut again = OnConflict::columns(KEY);
    for column in SUMS {
        let told = Expr::col(("excluded", column));
        again.value(column, Expr::col((Entity, column)).add(told));
    }
    upsert_many(db, rows, &again).await
}

/// Writes sums as they are, new or not.
pub async fn put_many(db: &impl ConnectionTrait, rows: Vec<Model>) -> Result<(), Error> {
    let again = OnConflict::columns(KEY).update_columns(SUMS).to_owned();
    upsert_many(db, rows, &again).await
}

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
