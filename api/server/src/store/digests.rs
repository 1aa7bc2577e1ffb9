//! Queries on the weekly digests that were made, and those that only a digest asks.

use std::collections::BTreeSet;

use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
    QuerySelect,
};

use super::Error;
use super::entity::digests::{ActiveModel, Column, Entity, Model};
use super::entity::{levels, movements, webhooks};

/// The newest digest of a site, if there is one.
pub async fn newest(db: &impl ConnectionTrait, site: i64) -> Result<Option<Model>, Error> {
    let newest = Entity::find()
        .filter(Column::SiteId.eq(site))
        .order_by_desc(Column::Day)
        .limit(1);
    Ok(newest.all(db).await?.pop())
}

/// Adds a digest; there is one a site and day.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}

/// The parts of which a site has some on hand, by their id.
pub async fn on_hand(db: &impl ConnectionTrait, site: i64) -> Result<BTreeSet<i64>, Error> {
    let parts: Vec<i64> = levels::Entity::find()
        .select_only()
        .column(levels::Column::PartId)
        .filter(levels::Column::SiteId.eq(site))
        .filter(levels::Column::OnHand.gt(0))
        .into_tuple()
        .all(db)
        .await?;
    Ok(parts.into_iter().collect())
}

/// The parts that moved at a site from an instant to before another (microseconds): in one way, or in any.
pub async fn moved(
    db: &impl ConnectionTrait,
    site: i64,
    kind: Option<&str>,
    (from, to): (i64, i64),
) -> Result<BTreeSet<i64>, Error> {
    let mut query = movements::Entity::find()
        .select_only()
        .column(movements::Column::PartId)
        .distinct()
        .filter(movements::Column::SiteId.eq(site))
        .filter(movements::Column::HappenedAt.gte(from))
        .filter(movements::Column::HappenedAt.lt(to));
    if let Some(kind) = kind {
        query = query.filter(movements::Column::Kind.eq(kind));
    }
    let parts: Vec<i64> = query.into_tuple().all(db).await?;
    Ok(parts.into_iter().collect())
}

/// The webhooks to which nothing is sent any more, oldest first.
pub async fn disabled_webhooks(db: &impl ConnectionTrait) -> Result<Vec<webhooks::Model>, Error> {
    Ok(webhooks::Entity::find()
        .filter(webhooks::Column::DisabledAt.is_not_null())
        .order_by_asc(webhooks::Column::Id)
        .all(db)
        .await?)
}
