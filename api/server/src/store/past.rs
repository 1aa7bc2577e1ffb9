//! The ledger added up, all of it or as it stood at an instant: the same sums for the present, for a
//! rebuild and for the past. What they make of a level or of wear is not here.

use domain::exposure::ArcSource;
use sea_orm::sea_query::{
    Alias, CaseStatement, Condition, Expr, ExprTrait, Order, Query, SelectStatement,
};
use sea_orm::{ConnectionTrait, FromQueryResult, Iterable};

mod currents;
mod lives;

pub use currents::{AtCurrent, exposed_at, used_at};
pub use lives::{Change, Exposed as ExposedAt, changes, exposed_since};

use super::Error;
use super::entity::{counts, entries, movements, set_up_parts};

/// Which facts count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Facts {
    /// All that are on record.
    All,
    /// Those that had been received by an instant: what was known then.
    ReceivedBy(i64),
    /// Those that happened by an instant: what is known now of that time.
    HappenedBy(i64),
}

impl Facts {
    /// Whether it is known of an entry that it was taken back by one that was received then.
    pub fn know(self, received_at: i64) -> bool {
        match self {
            Self::All | Self::HappenedBy(_) => true,
            Self::ReceivedBy(at) => received_at <= at,
        }
    }

    /// Whether an entry counts.
    pub(super) fn of_entries(self) -> Condition {
        let these = Condition::all();
        match self {
            Self::All => these,
            Self::ReceivedBy(at) => these.add(entry(entries::Column::ReceivedAt).lte(at)),
            Self::HappenedBy(at) => these.add(entry(entries::Column::HappenedAt).lte(at)),
        }
    }
}

fn entry(column: entries::Column) -> Expr {
    Expr::col((entries::Entity, column))
}

fn moved(column: movements::Column) -> Expr {
    Expr::col((movements::Entity, column))
}

/// A sum of whole numbers: PostgreSQL makes decimals of them, so it is cast.
fn sum(numbers: Expr) -> Expr {
    numbers.sum().cast_as("bigint")
}

async fn all<T: FromQueryResult>(
    db: &impl ConnectionTrait,
    select: &SelectStatement,
) -> Result<Vec<T>, Error> {
    let statement = db.get_database_backend().build(select);
    Ok(T::find_by_statement(statement).all(db).await?)
}

/// The newest count of each of those parts at a site that was not taken back: by instant, and of two
/// at one instant the later to arrive.
pub async fn newest_counts(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
    facts: Facts,
) -> Result<Vec<counts::Model>, Error> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let count = |column| Expr::col((counts::Entity, column));
    let back = Alias::new("back");
    let mut taken_back = Query::select()
        .expr(Expr::val(1))
        .from_as(entries::Entity, back.clone())
        .and_where(
            Expr::col((back.clone(), entries::Column::Reverses))
                .equals((counts::Entity, counts::Column::EntryId)),
        )
        .to_owned();
    if let Facts::ReceivedBy(at) = facts {
        taken_back.and_where(Expr::col((back, entries::Column::ReceivedAt)).lte(at));
    }
    let select = Query::select()
        .columns(
            [
                counts::Column::EntryId,
                counts::Column::PartId,
                counts::Column::SiteId,
                counts::Column::Counted,
                counts::Column::Book,
                counts::Column::HappenedAt,
            ]
            .map(|column| (counts::Entity, column)),
        )
        .from(counts::Entity)
        .inner_join(
            entries::Entity,
            entry(entries::Column::Id).equals((counts::Entity, counts::Column::EntryId)),
        )
        .and_where(count(counts::Column::SiteId).eq(site))
        .and_where(count(counts::Column::PartId).is_in(parts.iter().copied()))
        .and_where(Expr::exists(taken_back).not())
        .cond_where(facts.of_entries())
        .order_by((counts::Entity, counts::Column::PartId), Order::Asc)
        .order_by((counts::Entity, counts::Column::HappenedAt), Order::Desc)
        .order_by((counts::Entity, counts::Column::EntryId), Order::Desc)
        .to_owned();
    let mut rows: Vec<counts::Model> = all(db, &select).await?;
    rows.dedup_by_key(|row| row.part_id);
    Ok(rows)
}

/// Movements of a site, with their entries.
fn movements_at(site: i64, facts: Facts) -> SelectStatement {
    Query::select()
        .from(movements::Entity)
        .inner_join(
            entries::Entity,
            entry(entries::Column::Id).equals((movements::Entity, movements::Column::EntryId)),
        )
        .and_where(moved(movements::Column::SiteId).eq(site))
        .cond_where(facts.of_entries())
        .to_owned()
}

/// What moved of a part, of one kind.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Sum {
    /// The part.
    pub part_id: i64,
    /// The kind of movement.
    pub kind: String,
    /// The sum of the quantities as told.
    pub quantity: i64,
    /// The number of rows.
    pub rows: i64,
}

/// What moved of those parts at a site, by kind; strictly after an instant, if one is given.
pub async fn sums(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
    after: Option<i64>,
    facts: Facts,
) -> Result<Vec<Sum>, Error> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let mut select = movements_at(site, facts);
    select
        .column((movements::Entity, movements::Column::PartId))
        .column((movements::Entity, movements::Column::Kind))
        .expr_as(sum(moved(movements::Column::Quantity)), "quantity")
        .expr_as(
            moved(movements::Column::Id).count().cast_as("bigint"),
            "rows",
        )
        .and_where(moved(movements::Column::PartId).is_in(parts.iter().copied()))
        .group_by_columns(
            [movements::Column::PartId, movements::Column::Kind]
                .map(|column| (movements::Entity, column)),
        )
        .order_by((movements::Entity, movements::Column::Kind), Order::Asc);
    if let Some(after) = after {
        select.and_where(moved(movements::Column::HappenedAt).gt(after));
    }
    all(db, &select).await
}

/// The newest movements of a part at a site, newest first; strictly after an instant, if one is given.
pub async fn newest_moved(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
    after: Option<i64>,
    (facts, limit): (Facts, u64),
) -> Result<Vec<movements::Model>, Error> {
    let mut select = movements_at(site, facts);
    select
        .columns(movements::Column::iter().map(|column| (movements::Entity, column)))
        .and_where(moved(movements::Column::PartId).eq(part))
        .order_by(
            (movements::Entity, movements::Column::HappenedAt),
            Order::Desc,
        )
        .order_by((movements::Entity, movements::Column::Id), Order::Desc)
        .limit(limit);
    if let Some(after) = after {
        select.and_where(moved(movements::Column::HappenedAt).gt(after));
    }
    all(db, &select).await
}

/// What came of a part for an order.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Came {
    /// The order.
    pub order_id: i64,
    /// The part.
    pub part_id: i64,
    /// How many, less what was taken back.
    pub quantity: i64,
}

/// What came for those orders, at whatever site.
pub async fn received(
    db: &impl ConnectionTrait,
    orders: &[i64],
    facts: Facts,
) -> Result<Vec<Came>, Error> {
    if orders.is_empty() {
        return Ok(Vec::new());
    }
    let select = Query::select()
        .from(movements::Entity)
        .inner_join(
            entries::Entity,
            entry(entries::Column::Id).equals((movements::Entity, movements::Column::EntryId)),
        )
        .column((movements::Entity, movements::Column::OrderId))
        .column((movements::Entity, movements::Column::PartId))
        .expr_as(sum(moved(movements::Column::Quantity)), "quantity")
        .and_where(moved(movements::Column::OrderId).is_in(orders.iter().copied()))
        .cond_where(facts.of_entries())
        .group_by_columns(
            [movements::Column::OrderId, movements::Column::PartId]
                .map(|column| (movements::Entity, column)),
        )
        .to_owned();
    all(db, &select).await
}

/// What a group used of a part, of one kind of movement.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Used {
    /// The part.
    pub part_id: i64,
    /// The operator group.
    pub operator_group: String,
    /// The kind of movement.
    pub kind: String,
    /// The day, as a number.
    pub day: i64,
    /// The sum of the quantities as told.
    pub quantity: i64,
    /// When the first of it happened.
    pub first_at: i64,
}

/// What was moved by those kinds of movements, by part, operator group, day and kind.
pub async fn used(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
    kinds: &[&str],
    facts: Facts,
) -> Result<Vec<Used>, Error> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let mut select = movements_at(site, facts);
    select
        .column((movements::Entity, movements::Column::PartId))
        .column((entries::Entity, entries::Column::OperatorGroup))
        .column((entries::Entity, entries::Column::Day))
        .column((movements::Entity, movements::Column::Kind))
        .expr_as(sum(moved(movements::Column::Quantity)), "quantity")
        .expr_as(moved(movements::Column::HappenedAt).min(), "first_at")
        .and_where(moved(movements::Column::PartId).is_in(parts.iter().copied()))
        .and_where(moved(movements::Column::Kind).is_in(kinds.iter().copied()))
        .and_where(moved(movements::Column::Quantity).ne(0))
        .group_by_col((movements::Entity, movements::Column::PartId))
        .group_by_col((entries::Entity, entries::Column::OperatorGroup))
        .group_by_col((entries::Entity, entries::Column::Day))
        .group_by_col((movements::Entity, movements::Column::Kind));
    all(db, &select).await
}

/// What a part was exposed to by a group on a day, while it was fitted or alone.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Exposed {
    /// The part.
    pub part_id: i64,
    /// The operator group.
    pub operator_group: String,
    /// The day, as a number.
    pub day: i64,
    /// Seconds of arc time.
    pub arc_seconds: i64,
    /// Of those, what an arc timer told.
    pub arc_counter_seconds: i64,
    /// Of those, what cylinder swaps told.
    pub arc_cylinder_seconds: i64,
    /// Grinds.
    pub grinds: i64,
    /// Cut-backs.
    pub cut_backs: i64,
    /// Starts.
    pub starts: i64,
    /// Student-days.
    pub student_days: i64,
    /// When the first of it happened.
    pub first_at: i64,
}

/// What those parts were exposed to at a site, by part, operator group and day: what was fitted, and
/// what an entry names alone (an electrode that was ground without being fitted, a part of a course).
/// A part, group and day may come twice.
pub async fn exposed(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
    facts: Facts,
) -> Result<Vec<Exposed>, Error> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let mut exposed = fitted(db, (site, parts), facts).await?;
    exposed.extend(alone(db, (site, parts), facts).await?);
    Ok(exposed)
}

/// The grinds and student-days of parts that entries name alone.
async fn alone(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
    facts: Facts,
) -> Result<Vec<Exposed>, Error> {
    let mut select = Query::select();
    for name in [
        "arc_seconds",
        "arc_counter_seconds",
        "arc_cylinder_seconds",
        "cut_backs",
        "starts",
    ] {
        select.expr_as(Expr::val(0_i64).cast_as("bigint"), name);
    }
    let part = entries::Column::ExposedPartId;
    let anything = Condition::any()
        .add(entry(entries::Column::Grinds).ne(0))
        .add(entry(entries::Column::StudentDays).ne(0));
    let select = select
        .expr_as(sum(entry(entries::Column::Grinds)), "grinds")
        .expr_as(sum(entry(entries::Column::StudentDays)), "student_days")
        .expr_as(entry(part), "part_id")
        .column((entries::Entity, entries::Column::OperatorGroup))
        .column((entries::Entity, entries::Column::Day))
        .expr_as(entry(entries::Column::HappenedAt).min(), "first_at")
        .from(entries::Entity)
        .and_where(entry(entries::Column::SiteId).eq(site))
        .and_where(entry(part).is_in(parts.iter().copied()))
        .cond_where(anything)
        .cond_where(facts.of_entries())
        .group_by_col((entries::Entity, part))
        .group_by_col((entries::Entity, entries::Column::OperatorGroup))
        .group_by_col((entries::Entity, entries::Column::Day))
        .to_owned();
    all(db, &select).await
}

/// The exposure of what was fitted.
async fn fitted(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
    facts: Facts,
) -> Result<Vec<Exposed>, Error> {
    // Grinds of another electrode wear nothing that is fitted.
    let elsewhere = entry(entries::Column::ExposedPartId).is_not_null();
    let grinds = CaseStatement::new()
        .case(elsewhere, 0)
        .finally(entry(entries::Column::Grinds));
    let arc_from = |source: ArcSource| {
        let told = entry(entries::Column::ArcFrom).eq(source.as_str());
        let seconds = CaseStatement::new()
            .case(told, entry(entries::Column::ArcSeconds))
            .finally(0);
        Expr::Case(Box::new(seconds))
    };
    let columns = [
        (entry(entries::Column::ArcSeconds), "arc_seconds"),
        (arc_from(ArcSource::Counter), "arc_counter_seconds"),
        (arc_from(ArcSource::Cylinder), "arc_cylinder_seconds"),
        (Expr::Case(Box::new(grinds)), "grinds"),
        (entry(entries::Column::CutBacks), "cut_backs"),
        (entry(entries::Column::Starts), "starts"),
    ];
    let mut anything = Condition::any();
    let mut select = Query::select();
    select.expr_as(Expr::val(0_i64).cast_as("bigint"), "student_days");
    for (amount, name) in columns {
        select.expr_as(sum(amount.clone()), name);
        anything = anything.add(amount.ne(0));
    }
    let fitted = |column| (set_up_parts::Entity, column);
    let select = select
        .column(fitted(set_up_parts::Column::PartId))
        .column((entries::Entity, entries::Column::OperatorGroup))
        .column((entries::Entity, entries::Column::Day))
        .expr_as(entry(entries::Column::HappenedAt).min(), "first_at")
        .from(set_up_parts::Entity)
        .inner_join(
            entries::Entity,
            entry(entries::Column::SetUpId).equals(fitted(set_up_parts::Column::SetUpId)),
        )
        .and_where(entry(entries::Column::SiteId).eq(site))
        .and_where(Expr::col(fitted(set_up_parts::Column::PartId)).is_in(parts.iter().copied()))
        .cond_where(anything)
        .cond_where(facts.of_entries())
        .group_by_col(fitted(set_up_parts::Column::PartId))
        .group_by_col((entries::Entity, entries::Column::OperatorGroup))
        .group_by_col((entries::Entity, entries::Column::Day))
        .to_owned();
    all(db, &select).await
}
