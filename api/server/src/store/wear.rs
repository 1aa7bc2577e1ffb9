//! Queries on what wear is learned from: sums over the ledger, kept up to date with each entry.

use sea_orm::sea_query::OnConflict;
use sea_orm::{
    ColumnTrait, Condition, ConnectionTrait, EntityTrait, IntoActiveModel, QueryFilter, QuerySelect,
};

use super::entity::wear::{ActiveModel, Column, Entity, Model};
use super::{Error, ROWS_PER_INSERT};

/// The sums of those parts and sites, all groups.
pub async fn find_many(
    db: &impl ConnectionTrait,
    keys: impl IntoIterator<Item = (i64, i64)>,
) -> Result<Vec<Model>, Error> {
    let (mut parts, mut sites): (Vec<i64>, Vec<i64>) = keys.into_iter().unzip();
    for ids in [&mut parts, &mut sites] {
        ids.sort_unstable();
        ids.dedup();
    }
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let these = Condition::all()
        .add(Column::PartId.is_in(parts))
        .add(Column::SiteId.is_in(sites));
    Ok(Entity::find().filter(these).all(db).await?)
}

/// All sums.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find().all(db).await?)
}

/// Whether there is no sum at all.
pub async fn is_empty(db: &impl ConnectionTrait) -> Result<bool, Error> {
    Ok(Entity::find().limit(1).one(db).await?.is_none())
}

/// Writes sums, new or not.
pub async fn upsert_many(db: &impl ConnectionTrait, rows: Vec<Model>) -> Result<(), Error> {
    let again = OnConflict::columns([Column::PartId, Column::SiteId, Column::OperatorGroup])
        .update_columns([
            Column::Events,
            Column::ArcSeconds,
            Column::Grinds,
            Column::CutBacks,
            Column::Starts,
            Column::FirstAt,
            Column::EventsCounted,
            Column::ArcCounterSeconds,
            Column::ArcCylinderSeconds,
            Column::StudentDays,
        ])
        .to_owned();
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
