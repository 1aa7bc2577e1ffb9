//! Queries on deliveries: events on their way to receivers. Deliveries to one receiver about one subject
//! are a lane: only the first that waits in it may be taken.

use sea_orm::ActiveValue::Set;
use sea_orm::sea_query::{Alias, Expr, Query, SimpleExpr};
use sea_orm::{
    ColumnTrait, Condition, ConnectionTrait, EntityTrait, ExprTrait, PaginatorTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::deliveries::{ActiveModel, Column, Entity, Model};

/// A delivery that is on its way.
pub const WAITING: &str = "waiting";
/// A delivery that arrived.
pub const DELIVERED: &str = "delivered";
/// A delivery that is not tried any more.
pub const GIVEN_UP: &str = "given up";

/// Adds deliveries.
pub async fn insert_many(db: &impl ConnectionTrait, rows: Vec<ActiveModel>) -> Result<(), Error> {
    for chunk in rows.chunks(super::ROWS_PER_INSERT) {
        Entity::insert_many(chunk.to_vec())
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}

/// The delivery of that id, if it is kept.
pub async fn find(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(id)).await
}

/// Up to `limit` deliveries that are due and in nobody's hand, the first of each lane, oldest first.
pub async fn due(db: &impl ConnectionTrait, now: i64, limit: u64) -> Result<Vec<Model>, Error> {
    let free = Condition::any()
        .add(Column::ClaimedUntil.is_null())
        .add(Column::ClaimedUntil.lte(now));
    Ok(Entity::find()
        .filter(Column::State.eq(WAITING))
        .filter(Column::NextAt.lte(now))
        .filter(free)
        .filter(is_first_of_its_lane())
        .order_by_asc(Column::EventSequence)
        .limit(limit)
        .all(db)
        .await?)
}

/// Nothing that waits for the same receiver about the same subject is older.
fn is_first_of_its_lane() -> SimpleExpr {
    let earlier = || Alias::new("earlier");
    let same = |column: Column| Expr::col((earlier(), column)).eq(Expr::col((Entity, column)));
    let older = Query::select()
        .expr(Expr::val(1))
        .from_as(Entity, earlier())
        .and_where(Expr::col((earlier(), Column::State)).eq(WAITING))
        .and_where(same(Column::Target))
        .and_where(same(Column::Subject))
        .and_where(
            Expr::col((earlier(), Column::EventSequence))
                .lt(Expr::col((Entity, Column::EventSequence))),
        )
        .to_owned();
    Expr::exists(older).not()
}

/// Takes what is due into hand until an instant, inside the write transaction. Writers take turns,
/// those of other processes too, so no two take the same.
pub async fn claim(
    tx: &impl ConnectionTrait,
    now: i64,
    until: i64,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let due = due(tx, now, limit).await?;
    let ids: Vec<Uuid> = due.iter().map(|row| row.id).collect();
    Entity::update_many()
        .set(ActiveModel {
            claimed_until: Set(Some(until)),
            ..Default::default()
        })
        .filter(Column::Id.is_in(ids))
        .exec(tx)
        .await?;
    Ok(due)
}

/// Takes what waits out of everybody's hand.
pub async fn let_go(tx: &impl ConnectionTrait) -> Result<(), Error> {
    Entity::update_many()
        .set(ActiveModel {
            claimed_until: Set(None),
            ..Default::default()
        })
        .filter(Column::State.eq(WAITING))
        .filter(Column::ClaimedUntil.is_not_null())
        .exec(tx)
        .await?;
    Ok(())
}

/// Replaces the columns that are set.
pub async fn update(db: &impl ConnectionTrait, id: Uuid, row: ActiveModel) -> Result<(), Error> {
    Entity::update_many()
        .set(row)
        .filter(Column::Id.eq(id))
        .exec(db)
        .await?;
    Ok(())
}

/// Ends all that waits for a receiver that gets nothing any more.
pub async fn give_up_all(
    db: &impl ConnectionTrait,
    target: Uuid,
    now: i64,
    why: &str,
) -> Result<(), Error> {
    Entity::update_many()
        .set(ActiveModel {
            state: Set(GIVEN_UP.to_owned()),
            ended_at: Set(Some(now)),
            last_answer: Set(Some(why.to_owned())),
            ..Default::default()
        })
        .filter(Column::Target.eq(target))
        .filter(Column::State.eq(WAITING))
        .exec(db)
        .await?;
    Ok(())
}

/// How many wait for a receiver.
pub async fn waiting(db: &impl ConnectionTrait, target: Uuid) -> Result<u64, Error> {
    Ok(Entity::find()
        .filter(Column::Target.eq(target))
        .filter(Column::State.eq(WAITING))
        .count(db)
        .await?)
}
