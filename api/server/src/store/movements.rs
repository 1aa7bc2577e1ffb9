//! Queries on movements of the ledger. Rows are only ever added.

use std::collections::BTreeSet;

use domain::ledger::MovementKind;
use sea_orm::sea_query::Expr;
use sea_orm::{
    ColumnTrait, ConnectionTrait, EntityTrait, ExprTrait, FromQueryResult, JoinType, QueryFilter,
    QueryOrder, QuerySelect, RelationDef, Select,
};
use uuid::Uuid;

use super::entity::entries;
use super::entity::movements::{ActiveModel, Column, Entity, Model};
use super::past::Facts;
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

/// Which movements count as a change between two instants, the earlier one left out.
#[derive(Clone, Copy, Debug)]
pub enum Told {
    /// Those that happened between them.
    Within(i64, i64),
    /// Those that were received between them and happened before.
    Late(i64, i64),
}

/// What moved of a part in one way, added up.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Changed {
    /// The part.
    pub part_id: i64,
    /// The kind of movement.
    pub kind: String,
    /// The order it came for.
    pub order_id: Option<i64>,
    /// The sum of the quantities as told.
    pub quantity: i64,
    /// When the last of it happened.
    pub last_at: i64,
}

/// What moved at a site, by part, kind and order.
pub async fn changed(
    db: &impl ConnectionTrait,
    site: i64,
    told: Told,
) -> Result<Vec<Changed>, Error> {
    let query = Entity::find()
        .select_only()
        .columns([Column::PartId, Column::Kind, Column::OrderId])
        .column_as(Column::Quantity.sum().cast_as("bigint"), "quantity")
        .column_as(Column::HappenedAt.max(), "last_at")
        .filter(Column::SiteId.eq(site))
        .group_by(Column::PartId)
        .group_by(Column::Kind)
        .group_by(Column::OrderId)
        .order_by_asc(Column::PartId)
        .order_by_asc(Column::Kind);
    let query = match told {
        Told::Within(from, to) => query
            .filter(Column::HappenedAt.gt(from))
            .filter(Column::HappenedAt.lte(to)),
        Told::Late(from, to) => query
            .join(JoinType::InnerJoin, to_entry())
            .filter(Column::HappenedAt.lte(from))
            .filter(entries::Column::ReceivedAt.gt(from))
            .filter(entries::Column::ReceivedAt.lte(to)),
    };
    Ok(query.into_model::<Changed>().all(db).await?)
}

/// What a job is promised of a part at a site.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Promise {
    /// The job.
    pub job_id: i64,
    /// The part.
    pub part_id: i64,
    /// The site.
    pub site_id: i64,
    /// How many; not zero.
    pub quantity: i64,
    /// When it was last changed.
    pub changed_at: i64,
}

/// What those jobs are promised.
pub async fn promises(
    db: &impl ConnectionTrait,
    jobs: impl IntoIterator<Item = i64>,
) -> Result<Vec<Promise>, Error> {
    let jobs: Vec<i64> = jobs.into_iter().collect();
    if jobs.is_empty() {
        return Ok(Vec::new());
    }
    Ok(promised()
        .filter(entries::Column::JobId.is_in(jobs))
        .into_model::<Promise>()
        .all(db)
        .await?)
}

/// What a job was promised, by those facts.
pub async fn promises_by(
    db: &impl ConnectionTrait,
    job: i64,
    facts: Facts,
) -> Result<Vec<Promise>, Error> {
    Ok(promised()
        .filter(entries::Column::JobId.eq(job))
        .filter(facts.of_entries())
        .into_model::<Promise>()
        .all(db)
        .await?)
}

/// What all jobs are promised, or what is promised of one part.
pub async fn all_promises(
    db: &impl ConnectionTrait,
    part: Option<i64>,
) -> Result<Vec<Promise>, Error> {
    let mut query = promised();
    if let Some(part) = part {
        query = query.filter(Column::PartId.eq(part));
    }
    Ok(query.into_model::<Promise>().all(db).await?)
}

fn promised() -> Select<Entity> {
    Entity::find()
        .select_only()
        .column_as(entries::Column::JobId, "job_id")
        .columns([Column::PartId, Column::SiteId])
        .column_as(Column::Quantity.sum().cast_as("bigint"), "quantity")
        .column_as(entries::Column::ReceivedAt.max(), "changed_at")
        .join(JoinType::InnerJoin, to_entry())
        .filter(Column::Kind.eq("allocation"))
        .filter(entries::Column::JobId.is_not_null())
        .group_by(entries::Column::JobId)
        .group_by(Column::PartId)
        .group_by(Column::SiteId)
        .having(Column::Quantity.sum().ne(0))
}

pub(super) fn to_entry() -> RelationDef {
    Entity::belongs_to(entries::Entity)
        .from(Column::EntryId)
        .to(entries::Column::Id)
        .into()
}

/// The sum of what was told of one kind about a lot of a part at a site.
#[derive(Clone, Debug, FromQueryResult)]
pub struct LotSum {
    /// The part.
    pub part_id: i64,
    /// The site.
    pub site_id: i64,
    /// The lot, in lower case.
    pub lot_key: String,
    /// The kind of movement.
    pub kind: String,
    /// The sum of the quantities as told.
    pub quantity: i64,
}

/// The sums of those lots.
pub async fn lot_sums(
    db: &impl ConnectionTrait,
    lots: impl IntoIterator<Item = String>,
) -> Result<Vec<LotSum>, Error> {
    let lots: Vec<String> = lots.into_iter().collect();
    if lots.is_empty() {
        return Ok(Vec::new());
    }
    let these = summed_by_lot().filter(Column::LotKey.is_in(lots));
    Ok(these.into_model::<LotSum>().all(db).await?)
}

/// The sums of what was put on hold and released as lots of those parts.
pub async fn held_as_lots(
    db: &impl ConnectionTrait,
    parts: impl IntoIterator<Item = i64>,
) -> Result<Vec<LotSum>, Error> {
    let parts: BTreeSet<i64> = parts.into_iter().collect();
    let these = summed_by_lot()
        .filter(Column::PartId.is_in(parts))
        .filter(Column::LotKey.is_not_null())
        .filter(Column::Kind.is_in(["hold", "release"]));
    Ok(these.into_model::<LotSum>().all(db).await?)
}

fn summed_by_lot() -> Select<Entity> {
    Entity::find()
        .select_only()
        .columns([Column::PartId, Column::SiteId, Column::LotKey, Column::Kind])
        .column_as(Column::Quantity.sum().cast_as("bigint"), "quantity")
        .group_by(Column::PartId)
        .group_by(Column::SiteId)
        .group_by(Column::LotKey)
        .group_by(Column::Kind)
}

/// The sum of what was told of one kind about a lot of a part, with the lot as it was written.
#[derive(Clone, Debug, FromQueryResult)]
pub struct WrittenLot {
    /// The part.
    pub part_id: i64,
    /// The lot in lower case.
    pub lot_key: String,
    /// The lot as it was written.
    pub lot: Option<String>,
    /// The kind of movement.
    pub kind: String,
    /// The sum of the quantities as told.
    pub quantity: i64,
}

/// The lots of those parts at a site, by the lot.
pub async fn lots_at(
    db: &impl ConnectionTrait,
    site: i64,
    parts: impl IntoIterator<Item = i64>,
) -> Result<Vec<WrittenLot>, Error> {
    let parts: Vec<i64> = parts.into_iter().collect();
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find()
        .select_only()
        .columns([Column::PartId, Column::LotKey, Column::Kind])
        .column_as(entries::Column::Lot.max(), "lot")
        .column_as(Column::Quantity.sum().cast_as("bigint"), "quantity")
        .join(JoinType::InnerJoin, to_entry())
        .filter(Column::SiteId.eq(site))
        .filter(Column::PartId.is_in(parts))
        .filter(Column::LotKey.is_not_null())
        .group_by(Column::PartId)
        .group_by(Column::LotKey)
        .group_by(Column::Kind)
        .order_by_asc(Column::LotKey)
        .into_model::<WrittenLot>()
        .all(db)
        .await?)
}

/// Everything that moved of a lot, by when it happened.
pub async fn of_lot(db: &impl ConnectionTrait, lot: &str) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::LotKey.eq(lot))
        .order_by_asc(Column::HappenedAt)
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
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
    /// Only of this kind.
    pub kind: Option<MovementKind>,
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
    let mut query = Entity::find().order_by_desc(Column::Id).limit(limit);
    if let Some(part) = which.part {
        query = query.filter(Column::PartId.eq(part));
    }
    if let Some(kind) = which.kind {
        query = query.filter(Column::Kind.eq(kind.as_str()));
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
