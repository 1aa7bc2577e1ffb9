//! Queries on orders and their lines.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, Condition, ConnectionTrait, EntityTrait, JoinType, QueryFilter,
    QueryOrder, QuerySelect,
};

use super::Error;
use super::entity::movements;
use super::entity::order_lines as line;
use super::entity::orders::{ActiveModel, Column, Entity, Model};
use super::past::Facts;

/// The order of that number, if there is one.
pub async fn find(db: &impl ConnectionTrait, number: i64) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(number)).await
}

/// The orders of those numbers.
pub async fn get_many(
    db: &impl ConnectionTrait,
    numbers: impl IntoIterator<Item = i64>,
) -> Result<Vec<Model>, Error> {
    let numbers: Vec<i64> = numbers.into_iter().collect();
    if numbers.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find()
        .filter(Column::Id.is_in(numbers))
        .all(db)
        .await?)
}

/// The orders to a site that were placed or cancelled after one instant, up to another.
pub async fn changed(
    db: &impl ConnectionTrait,
    site: i64,
    (after, up_to): (i64, i64),
) -> Result<Vec<Model>, Error> {
    let within = |column: Column| {
        Condition::all()
            .add(column.gt(after))
            .add(column.lte(up_to))
    };
    let these = Condition::any()
        .add(within(Column::PlacedAt))
        .add(within(Column::CancelledAt));
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(these)
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}

/// The lines of those orders.
pub async fn lines(
    db: &impl ConnectionTrait,
    orders: impl IntoIterator<Item = i64>,
) -> Result<Vec<line::Model>, Error> {
    let orders: Vec<i64> = orders.into_iter().collect();
    Ok(line::Entity::find()
        .filter(line::Column::OrderId.is_in(orders))
        .order_by_asc(line::Column::Id)
        .all(db)
        .await?)
}

/// A page, newest first.
pub async fn list(
    db: &impl ConnectionTrait,
    before: Option<i64>,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find().order_by_desc(Column::Id).limit(limit);
    if let Some(before) = before {
        query = query.filter(Column::Id.lt(before));
    }
    Ok(query.all(db).await?)
}

/// All orders in one of those states.
pub async fn in_states(db: &impl ConnectionTrait, states: &[&str]) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::State.is_in(states.iter().copied()))
        .all(db)
        .await?)
}

/// The orders to a site that were on order at an instant, with whatever had come of them: placed by
/// then, and not cancelled.
pub async fn on_order_at(
    db: &impl ConnectionTrait,
    site: i64,
    at: i64,
) -> Result<Vec<Model>, Error> {
    let stood = Condition::any()
        .add(Column::State.ne("cancelled"))
        .add(Column::CancelledAt.gt(at));
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::PlacedAt.lte(at))
        .filter(stood)
        .all(db)
        .await?)
}

/// Adds an order with its lines.
pub async fn insert(
    db: &impl ConnectionTrait,
    row: ActiveModel,
    lines: Vec<line::ActiveModel>,
) -> Result<Model, Error> {
    let order = row.insert(db).await?;
    let lines = lines.into_iter().map(|line| line::ActiveModel {
        order_id: Set(order.id),
        ..line
    });
    line::Entity::insert_many(lines)
        .exec_without_returning(db)
        .await?;
    Ok(order)
}

/// Replaces the columns that are set.
pub async fn update(db: &impl ConnectionTrait, number: i64, row: ActiveModel) -> Result<(), Error> {
    Entity::update_many()
        .set(row)
        .filter(Column::Id.eq(number))
        .exec(db)
        .await?;
    Ok(())
}

/// Sets how many pieces of a line have arrived.
pub async fn set_received(db: &impl ConnectionTrait, id: i64, received: i64) -> Result<(), Error> {
    line::Entity::update_many()
        .set(line::ActiveModel {
            received: Set(received),
            ..Default::default()
        })
        .filter(line::Column::Id.eq(id))
        .exec(db)
        .await?;
    Ok(())
}

/// An order of which something came.
#[derive(Clone, Copy, Debug)]
pub struct Delivered {
    /// To whom.
    pub supplier_id: i64,
    /// When it was placed.
    pub placed_at: i64,
    /// When the first of it came.
    pub came_at: i64,
}

/// So many orders of the past tell how suppliers deliver.
const DELIVERIES_MAX: u64 = 400;

/// The newest orders to those suppliers of which something had come by an instant, by those facts, oldest
/// first.
pub async fn deliveries(
    db: &impl ConnectionTrait,
    suppliers: impl IntoIterator<Item = i64>,
    (at, facts): (i64, Facts),
) -> Result<Vec<Delivered>, Error> {
    let suppliers: Vec<i64> = suppliers.into_iter().collect();
    let mut orders: Vec<Model> = Entity::find()
        .filter(Column::SupplierId.is_in(suppliers))
        .filter(Column::PlacedAt.lte(at))
        .order_by_desc(Column::Id)
        .limit(DELIVERIES_MAX)
        .all(db)
        .await?;
    orders.reverse();
    let came = movements::Entity::find()
        .join(JoinType::InnerJoin, super::movements::to_entry())
        .filter(facts.of_entries())
        .filter(movements::Column::OrderId.is_in(orders.iter().map(|order| order.id)))
        .filter(movements::Column::HappenedAt.lte(at))
        .all(db)
        .await?;
    let delivered = orders.iter().filter_map(|order| {
        let own = came.iter().filter(|row| row.order_id == Some(order.id));
        // What was taken back adds up to nothing and tells nothing.
        let pieces: i64 = own.clone().map(|row| row.quantity).sum();
        let came_at = own.map(|row| row.happened_at).min()?;
        let placed_at = order.placed_at?;
        (pieces > 0).then_some(Delivered {
            supplier_id: order.supplier_id,
            placed_at,
            came_at,
        })
    });
    Ok(delivered.collect())
}
