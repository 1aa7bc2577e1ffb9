//! Queries on movements of the ledger. Rows are only ever added.

use sea_orm::sea_query::Expr;
use sea_orm::{
    ColumnTrait, ConnectionTrait, EntityTrait, ExprTrait, FromQueryResult, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::entity::movements::{ActiveModel, Column, Entity, Model};
use super::{Error, ROWS_PER_INSERT};

/// The movements of those entries.
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
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}

/// The movements of a part at a site.
pub async fn of_part(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::PartId.eq(part))
        .filter(Column::SiteId.eq(site))
        .all(db)
        .await?)
}

/// The sum of what was told of one kind, and in how many rows.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Sum {
    /// The kind of movement.
    pub kind: String,
    /// The sum of the quantities as told.
    pub quantity: i64,
    /// The number of rows.
    pub rows: i64,
}

/// The sums by kind of what moved of a part at a site strictly after an instant.
pub async fn sums_after(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
    after: Option<i64>,
) -> Result<Vec<Sum>, Error> {
    let mut query = Entity::find()
        .select_only()
        .column(Column::Kind)
        // PostgreSQL sums whole numbers into decimals; both back ends read a cast one.
        .column_as(Column::Quantity.sum().cast_as("bigint"), "quantity")
        .column_as(Expr::col(Column::Id).count().cast_as("bigint"), "rows")
        .filter(Column::PartId.eq(part))
        .filter(Column::SiteId.eq(site))
        .group_by(Column::Kind)
        .order_by_asc(Column::Kind);
    if let Some(after) = after {
        query = query.filter(Column::HappenedAt.gt(after));
    }
    Ok(query.into_model::<Sum>().all(db).await?)
}

/// The receipts of a part at a site after one instant and up to another, taken back or not.
pub async fn receipts(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
    (after, up_to): (Option<i64>, i64),
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find()
        .filter(Column::PartId.eq(part))
        .filter(Column::SiteId.eq(site))
        .filter(Column::Kind.eq("receipt"))
        .filter(Column::HappenedAt.lte(up_to));
    if let Some(after) = after {
        query = query.filter(Column::HappenedAt.gt(after));
    }
    Ok(query.order_by_asc(Column::HappenedAt).all(db).await?)
}

/// What moved at a site from one instant to before another, of one part or of all.
pub async fn within(
    db: &impl ConnectionTrait,
    (part, site): (Option<i64>, i64),
    (from, before): (i64, i64),
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::HappenedAt.gte(from))
        .filter(Column::HappenedAt.lt(before));
    if let Some(part) = part {
        query = query.filter(Column::PartId.eq(part));
    }
    Ok(query.all(db).await?)
}

/// How much of a part came for an order, less what was taken back.
pub async fn received(db: &impl ConnectionTrait, order: i64, part: i64) -> Result<i64, Error> {
    let sums: Vec<Option<i64>> = Entity::find()
        .select_only()
        .column_as(Column::Quantity.sum().cast_as("bigint"), "quantity")
        .filter(Column::OrderId.eq(order))
        .filter(Column::PartId.eq(part))
        .into_tuple()
        .all(db)
        .await?;
    Ok(sums.into_iter().flatten().sum())
}

/// Which rows of the ledger to list.
#[derive(Clone, Copy, Debug, Default)]
pub struct Which {
    /// Only of this part.
    pub part: Option<i64>,
    /// Only of this torch.
    pub torch: Option<i64>,
    /// Only before this row.
    pub before: Option<Uuid>,
}

/// A page of the ledger, newest received first.
pub async fn list(
    db: &impl ConnectionTrait,
    which: Which,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    use super::entity::entries;
    let mut query = Entity::find().order_by_desc(Column::Id).limit(limit);
    if let Some(part) = which.part {
        query = query.filter(Column::PartId.eq(part));
    }
    if let Some(torch) = which.torch {
        let of_torch = QuerySelect::query(
            &mut entries::Entity::find()
                .select_only()
                .column(entries::Column::Id)
                .filter(entries::Column::TorchId.eq(torch)),
        )
        .to_owned();
        query = query.filter(Column::EntryId.in_subquery(of_torch));
    }
    if let Some(before) = which.before {
        query = query.filter(Column::Id.lt(before));
    }
    Ok(query.all(db).await?)
}

/// Adds movements.
pub async fn insert_many(db: &impl ConnectionTrait, rows: Vec<ActiveModel>) -> Result<(), Error> {
    for chunk in rows.chunks(ROWS_PER_INSERT) {
        Entity::insert_many(chunk.iter().cloned())
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}
