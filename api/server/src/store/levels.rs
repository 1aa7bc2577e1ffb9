//! Queries on levels of stock: what follows from the ledger, kept up to date with each entry.

use sea_orm::sea_query::OnConflict;
use sea_orm::{ColumnTrait, Condition, ConnectionTrait, EntityTrait, IntoActiveModel, QueryFilter};

use super::entity::levels::{ActiveModel, Column, Entity, Model};
use super::{Error, ROWS_PER_INSERT};

/// The levels of those parts and sites that have one.
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

/// All levels.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find().all(db).await?)
}

/// Writes levels, new or not.
pub async fn upsert_many(db: &impl ConnectionTrait, rows: Vec<Model>) -> Result<(), Error> {
    let again = OnConflict::columns([Column::PartId, Column::SiteId])
        .update_columns([
            Column::OnHand,
            Column::OnHold,
            Column::OnOrder,
            Column::CountedAt,
            Column::CountId,
            Column::Allocated,
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
