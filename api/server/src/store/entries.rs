//! Queries on entries of the ledger. Rows are only ever added.

use std::collections::HashMap;

use domain::exposure::ArcSource;
use sea_orm::sea_query::{Alias, Expr, ExprTrait, Query};
use sea_orm::{
    ColumnTrait, Condition, ConnectionTrait, EntityTrait, FromQueryResult, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::entity::entries::{ActiveModel, Column, Entity, Model};
use super::entity::{movements, set_up_parts};
use super::{Error, ROWS_PER_INSERT};

/// The entry of that id, if there is one.
pub async fn find(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(id)).await
}

/// The entries of those ids, in no particular order.
pub async fn get_many(
    db: &impl ConnectionTrait,
    ids: impl IntoIterator<Item = Uuid>,
) -> Result<Vec<Model>, Error> {
    let ids: Vec<Uuid> = ids.into_iter().collect();
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find().filter(Column::Id.is_in(ids)).all(db).await?)
}

/// The entry that takes that one back, if there is one.
pub async fn reversal_of(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find().filter(Column::Reverses.eq(id))).await
}

/// The entries that take those back.
pub async fn reversals_of(
    db: &impl ConnectionTrait,
    ids: impl IntoIterator<Item = Uuid>,
) -> Result<Vec<Model>, Error> {
    let ids: Vec<Uuid> = ids.into_iter().collect();
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find()
        .filter(Column::Reverses.is_in(ids))
        .all(db)
        .await?)
}

/// Of those entries, the ones that were taken back.
pub async fn reversed(
    db: &impl ConnectionTrait,
    ids: impl IntoIterator<Item = Uuid>,
) -> Result<Vec<Uuid>, Error> {
    let rows = reversals_of(db, ids).await?;
    Ok(rows.into_iter().filter_map(|row| row.reverses).collect())
}

/// What was taken at those torches between two instants, leaving out what one person told with one
/// key.
pub async fn taken_at(
    db: &impl ConnectionTrait,
    torches: impl IntoIterator<Item = i64>,
    (from, to): (i64, i64),
    but_not: Option<(Option<Uuid>, Option<&str>)>,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find()
        .filter(Column::TorchId.is_in(torches))
        .filter(Column::HappenedAt.between(from, to))
        .filter(Column::What.is_in(["took", "broke", "lost"]));
    if let Some((key, person)) = but_not {
        let other_key = match key {
            Some(key) => Column::KeyId.ne(key).or(Column::KeyId.is_null()),
            None => Column::KeyId.is_not_null(),
        };
        let other_person = match person {
            Some(person) => Column::Person.ne(person).or(Column::Person.is_null()),
            None => Column::Person.is_not_null(),
        };
        query = query.filter(Condition::any().add(other_key).add(other_person));
    }
    Ok(query.all(db).await?)
}

/// What a part was exposed to, by operator group.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Exposed {
    /// The operator group.
    pub operator_group: String,
    /// Seconds of arc time.
    pub arc_seconds: i64,
    /// Grinds.
    pub grinds: i64,
}

/// What a part at a site was exposed to after one instant and up to another, by operator group.
pub async fn exposure_by_group(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
    (after, up_to): (Option<i64>, i64),
) -> Result<Vec<Exposed>, Error> {
    let wearing = QuerySelect::query(
        &mut set_up_parts::Entity::find()
            .select_only()
            .column(set_up_parts::Column::SetUpId)
            .filter(set_up_parts::Column::PartId.eq(part)),
    )
    .to_owned();
    let mut query = Entity::find()
        .select_only()
        .column(Column::OperatorGroup)
        // PostgreSQL sums whole numbers into decimals; both back ends read a cast one.
        .column_as(Column::ArcSeconds.sum().cast_as("bigint"), "arc_seconds")
        .column_as(Column::Grinds.sum().cast_as("bigint"), "grinds")
        .filter(Column::SiteId.eq(site))
        .filter(Column::HappenedAt.lte(up_to))
        .filter(Column::SetUpId.in_subquery(wearing))
        .group_by(Column::OperatorGroup)
        .order_by_asc(Column::OperatorGroup);
    if let Some(after) = after {
        query = query.filter(Column::HappenedAt.gt(after));
    }
    Ok(query.into_model::<Exposed>().all(db).await?)
}

/// The newest reading of the arc timer at a torch that was not taken back.
pub async fn last_timer(db: &impl ConnectionTrait, torch: i64) -> Result<Option<Model>, Error> {
    newest(db, torch, Column::ArcTimerMinutes.is_not_null()).await
}

/// The newest swap of the gas cylinder at a torch that was not taken back.
pub async fn last_swap(db: &impl ConnectionTrait, torch: i64) -> Result<Option<Model>, Error> {
    newest(db, torch, Column::ArcFrom.eq(ArcSource::Cylinder.as_str())).await
}

async fn newest(
    db: &impl ConnectionTrait,
    torch: i64,
    which: Expr,
) -> Result<Option<Model>, Error> {
    let taken_back = Query::select()
        .column(Column::Reverses)
        .from(Entity)
        .and_where(Column::Reverses.is_not_null())
        .and_where(Column::TorchId.eq(torch))
        .to_owned();
    let query = Entity::find()
        .filter(Column::TorchId.eq(torch))
        .filter(which)
        .filter(Column::Reverses.is_null())
        .filter(Column::Id.not_in_subquery(taken_back))
        .order_by_desc(Column::HappenedAt)
        .order_by_desc(Column::Id)
        .limit(1);
    super::only(db, query).await
}

/// What a torch worked, added up.
#[derive(Clone, Copy, Debug, FromQueryResult)]
pub struct Worked {
    /// Seconds of arc time.
    pub arc_seconds: i64,
    /// Starts.
    pub starts: i64,
}

/// What a torch worked after one instant and up to another.
pub async fn worked(
    db: &impl ConnectionTrait,
    torch: i64,
    (after, up_to): (i64, i64),
) -> Result<Worked, Error> {
    let sum = |column: Column| {
        let sum = column.sum().if_null(0_i64);
        sum.cast_as("bigint")
    };
    let query = Entity::find()
        .select_only()
        .column_as(sum(Column::ArcSeconds), "arc_seconds")
        .column_as(sum(Column::Starts), "starts")
        .filter(Column::TorchId.eq(torch))
        .filter(Column::HappenedAt.gt(after))
        .filter(Column::HappenedAt.lte(up_to));
    let worked = query.into_model::<Worked>().all(db).await?.pop();
    Ok(worked.unwrap_or(Worked {
        arc_seconds: 0,
        starts: 0,
    }))
}

/// Seconds of arc time that a group logged at a site from one instant to another.
pub async fn arc_since(
    db: &impl ConnectionTrait,
    (site, group): (i64, &str),
    (from, up_to): (i64, i64),
) -> Result<i64, Error> {
    let sums = Entity::find()
        .select_only()
        .column(Column::OperatorGroup)
        // PostgreSQL sums whole numbers into decimals; both back ends read a cast one.
        .column_as(Column::ArcSeconds.sum().cast_as("bigint"), "arc_seconds")
        .column_as(Column::Grinds.sum().cast_as("bigint"), "grinds")
        .filter(Column::SiteId.eq(site))
        .filter(Column::OperatorGroup.eq(group))
        .filter(Column::HappenedAt.gte(from))
        .filter(Column::HappenedAt.lte(up_to))
        .group_by(Column::OperatorGroup);
    let sums = sums.into_model::<Exposed>().all(db).await?;
    Ok(sums.iter().map(|sum| sum.arc_seconds).sum())
}

/// A page of logged use, newest received first.
pub async fn list_usage(
    db: &impl ConnectionTrait,
    torch: Option<i64>,
    before: Option<Uuid>,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find()
        .filter(
            Condition::any()
                .add(Column::Kind.eq("usage"))
                .add(takes_back_use()),
        )
        .order_by_desc(Column::Id)
        .limit(limit);
    if let Some(torch) = torch {
        query = query.filter(Column::TorchId.eq(torch));
    }
    if let Some(before) = before {
        query = query.filter(Column::Id.lt(before));
    }
    Ok(query.all(db).await?)
}

/// Whether an entry takes back use, and not a count or goods that came in.
fn takes_back_use() -> Condition {
    let entry = Alias::new("taken_back");
    let of_use = Query::select()
        .expr(Expr::val(1))
        .from_as(Entity, entry.clone())
        .and_where(Expr::col((entry.clone(), Column::Id)).equals((Entity, Column::Reverses)))
        .and_where(Expr::col((entry, Column::Kind)).eq("usage"))
        .to_owned();
    Condition::all()
        .add(Column::Kind.eq("reversal"))
        .add(Expr::exists(of_use))
}

/// The next entries after that id, in the order of their ids: for walking through all of them.
pub async fn after(
    db: &impl ConnectionTrait,
    id: Option<Uuid>,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find().order_by_asc(Column::Id).limit(limit);
    if let Some(id) = id {
        query = query.filter(Column::Id.gt(id));
    }
    Ok(query.all(db).await?)
}

/// The newest entry up to an instant by which a part was taken for a torch, and was not put right
/// since.
pub async fn last_taken(
    db: &impl ConnectionTrait,
    (torch, part): (i64, i64),
    until: i64,
) -> Result<Option<Model>, Error> {
    let back = Alias::new("taken_back");
    let undone = Query::select()
        .expr(Expr::val(1))
        .from_as(Entity, back.clone())
        .and_where(Expr::col((back, Column::Reverses)).equals((Entity, Column::Id)))
        .to_owned();
    let of_part = Query::select()
        .column(movements::Column::EntryId)
        .from(movements::Entity)
        .and_where(Expr::col(movements::Column::PartId).eq(part))
        .to_owned();
    let newest = Entity::find()
        .filter(Column::TorchId.eq(torch))
        .filter(Column::Kind.eq("usage"))
        .filter(Column::What.is_in(["took", "broke", "lost"]))
        .filter(Column::HappenedAt.lte(until))
        .filter(Column::Id.in_subquery(of_part))
        .filter(Expr::exists(undone).not())
        .order_by_desc(Column::HappenedAt)
        .order_by_desc(Column::Id)
        .limit(1);
    Ok(newest.all(db).await?.pop())
}

/// When each of those torches was last used, in microseconds.
pub async fn last_used(
    db: &impl ConnectionTrait,
    torches: &[i64],
) -> Result<HashMap<i64, i64>, Error> {
    let rows: Vec<(i64, i64)> = Entity::find()
        .select_only()
        .column(Column::TorchId)
        .column_as(Column::HappenedAt.max(), "used_at")
        .filter(Column::TorchId.is_in(torches.iter().copied()))
        .filter(Column::Kind.eq("usage"))
        .group_by(Column::TorchId)
        .into_tuple()
        .all(db)
        .await?;
    Ok(rows.into_iter().collect())
}

/// Adds entries.
pub async fn insert_many(db: &impl ConnectionTrait, rows: Vec<ActiveModel>) -> Result<(), Error> {
    for chunk in rows.chunks(ROWS_PER_INSERT) {
        Entity::insert_many(chunk.iter().cloned())
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}
