//! Queries on counts of the ledger. Rows are only ever added; a count that was taken back has an
//! entry that reverses it.

use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::counts::{ActiveModel, Column, Entity, Model};
use super::entries;

/// The counts of those entries.
pub async fn of_entries(
    db: &impl ConnectionTrait,
    entries: impl IntoIterator<Item = Uuid>,
) -> Result<Vec<Model>, Error> {
    let entries: Vec<Uuid> = entries.into_iter().collect();
    if entries.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find()
        .filter(Column::EntryId.is_in(entries))
        .all(db)
        .await?)
}

/// The counts of a part at a site that were not taken back.
pub async fn standing(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
) -> Result<Vec<Model>, Error> {
    let mut rows = Entity::find()
        .filter(Column::PartId.eq(part))
        .filter(Column::SiteId.eq(site))
        .all(db)
        .await?;
    let reversed = entries::reversed(db, rows.iter().map(|row| row.entry_id)).await?;
    rows.retain(|row| !reversed.contains(&row.entry_id));
    Ok(rows)
}

/// A page, newest received first.
pub async fn list(
    db: &impl ConnectionTrait,
    part: Option<i64>,
    before: Option<Uuid>,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find().order_by_desc(Column::EntryId).limit(limit);
    if let Some(part) = part {
        query = query.filter(Column::PartId.eq(part));
    }
    if let Some(before) = before {
        query = query.filter(Column::EntryId.lt(before));
    }
    Ok(query.all(db).await?)
}

/// All parts and sites that were ever counted.
pub async fn keys(db: &impl ConnectionTrait) -> Result<Vec<(i64, i64)>, Error> {
    Ok(Entity::find()
        .select_only()
        .columns([Column::PartId, Column::SiteId])
        .distinct()
        .into_tuple()
        .all(db)
        .await?)
}

/// Adds a count.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<(), Error> {
    row.insert(db).await?;
    Ok(())
}

/// The counts at a site that were not taken back and were made after one instant, up to another.
pub async fn standing_at(
    db: &impl ConnectionTrait,
    site: i64,
    (after, up_to): (i64, i64),
) -> Result<Vec<Model>, Error> {
    let mut rows = Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::HappenedAt.gt(after))
        .filter(Column::HappenedAt.lte(up_to))
        .order_by_asc(Column::HappenedAt)
        .order_by_asc(Column::EntryId)
        .all(db)
        .await?;
    let reversed = entries::reversed(db, rows.iter().map(|row| row.entry_id)).await?;
    let reversed: std::collections::HashSet<Uuid> = reversed.into_iter().collect();
    rows.retain(|row| !reversed.contains(&row.entry_id));
    Ok(rows)
}
