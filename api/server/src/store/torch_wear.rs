//! What torches did and used, added up from their entries by day: bounded by the time that is asked, and
//! found by the index of torch and time. What it means for a torch is not here.

use sea_orm::sea_query::{CaseStatement, Expr, ExprTrait, Func, Query, SelectStatement};
use sea_orm::{ConnectionTrait, FromQueryResult};

use super::Error;
use super::entity::{entries, movements, parts, set_up_parts};
use super::past::Facts;

/// What is asked: these torches and parts, from an instant on, by what is known.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The torches.
    pub torches: &'a [i64],
    /// The parts.
    pub parts: &'a [i64],
    /// From this instant on.
    pub since: i64,
    /// Which facts count.
    pub facts: Facts,
}

/// What a part was exposed to in a torch, by set-up, group, day and polarity.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Worked {
    /// The torch.
    pub torch_id: i64,
    /// The set-up.
    pub set_up_id: i64,
    /// The part.
    pub part_id: i64,
    /// The operator group.
    pub operator_group: String,
    /// The day, as a number.
    pub day: i64,
    /// The polarity that was told.
    pub polarity: Option<String>,
    /// Seconds of arc time.
    pub arc_seconds: i64,
    /// Grinds.
    pub grinds: i64,
    /// The largest current that was told.
    pub amps: Option<i64>,
}

/// What was used of a part on a torch, by set-up, group, day and kind of movement.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Used {
    /// The torch.
    pub torch_id: i64,
    /// The set-up; none if nothing was ever fitted.
    pub set_up_id: Option<i64>,
    /// The part.
    pub part_id: i64,
    /// The operator group.
    pub operator_group: String,
    /// The day, as a number.
    pub day: i64,
    /// The kind of movement.
    pub kind: String,
    /// The sum of the quantities as told.
    pub quantity: i64,
    /// The largest quantity of one entry.
    pub largest: i64,
}

#[derive(Clone, Copy, Debug, Default, FromQueryResult)]
struct Ground {
    grinds: i64,
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

/// What those parts were exposed to in those torches.
pub async fn worked(db: &impl ConnectionTrait, asked: Asked<'_>) -> Result<Vec<Worked>, Error> {
    if asked.torches.is_empty() || asked.parts.is_empty() {
        return Ok(Vec::new());
    }
    let fitted = |column| Expr::col((set_up_parts::Entity, column));
    let mut select = Query::select();
    for column in [
        entries::Column::TorchId,
        entries::Column::SetUpId,
        entries::Column::OperatorGroup,
        entries::Column::Day,
        entries::Column::Polarity,
    ] {
        select.column((entries::Entity, column));
        select.group_by_col((entries::Entity, column));
    }
    select
        .column((set_up_parts::Entity, set_up_parts::Column::PartId))
        .group_by_col((set_up_parts::Entity, set_up_parts::Column::PartId))
        .expr_as(sum(entry(entries::Column::ArcSeconds)), "arc_seconds")
        .expr_as(sum(own_grinds()), "grinds")
        .expr_as(entry(entries::Column::Amps).max(), "amps")
        .from(entries::Entity)
        .inner_join(
            set_up_parts::Entity,
            entry(entries::Column::SetUpId)
                .equals((set_up_parts::Entity, set_up_parts::Column::SetUpId)),
        )
        .and_where(entry(entries::Column::TorchId).is_in(asked.torches.iter().copied()))
        .and_where(entry(entries::Column::HappenedAt).gte(asked.since))
        .and_where(fitted(set_up_parts::Column::PartId).is_in(asked.parts.iter().copied()))
        .cond_where(asked.facts.of_entries());
    all(db, &select).await
}

/// Grinds of what is fitted: those of another electrode wear nothing in the torch.
fn own_grinds() -> Expr {
    let elsewhere = entry(entries::Column::ExposedPartId).is_not_null();
    let grinds = CaseStatement::new()
        .case(elsewhere, 0)
        .finally(entry(entries::Column::Grinds));
    Expr::Case(Box::new(grinds))
}

/// What was used of those parts on those torches, by those kinds of movements.
pub async fn used(
    db: &impl ConnectionTrait,
    asked: Asked<'_>,
    kinds: &[&str],
) -> Result<Vec<Used>, Error> {
    if asked.torches.is_empty() || asked.parts.is_empty() {
        return Ok(Vec::new());
    }
    let mut select = Query::select();
    for column in [
        entries::Column::TorchId,
        entries::Column::SetUpId,
        entries::Column::OperatorGroup,
        entries::Column::Day,
    ] {
        select.column((entries::Entity, column));
        select.group_by_col((entries::Entity, column));
    }
    for column in [movements::Column::PartId, movements::Column::Kind] {
        select.column((movements::Entity, column));
        select.group_by_col((movements::Entity, column));
    }
    select
        .expr_as(sum(moved(movements::Column::Quantity)), "quantity")
        .expr_as(moved(movements::Column::Quantity).max(), "largest")
        .from(entries::Entity)
        .inner_join(
            movements::Entity,
            moved(movements::Column::EntryId).equals((entries::Entity, entries::Column::Id)),
        )
        .and_where(entry(entries::Column::TorchId).is_in(asked.torches.iter().copied()))
        .and_where(entry(entries::Column::HappenedAt).gte(asked.since))
        .and_where(moved(movements::Column::PartId).is_in(asked.parts.iter().copied()))
        .and_where(moved(movements::Column::Kind).is_in(kinds.iter().copied()))
        .cond_where(asked.facts.of_entries());
    all(db, &select).await
}

/// The grinds of what was fitted in a torch from an instant on, up to what is known.
pub async fn ground_since(
    db: &impl ConnectionTrait,
    (torch, since): (i64, i64),
    facts: Facts,
) -> Result<i64, Error> {
    let mut select = Query::select();
    select
        .expr_as(
            Func::coalesce([sum(own_grinds()), Expr::val(0_i64)]),
            "grinds",
        )
        .from(entries::Entity)
        .and_where(entry(entries::Column::TorchId).eq(torch))
        .and_where(entry(entries::Column::HappenedAt).gte(since))
        .cond_where(facts.of_entries());
    let found: Vec<Ground> = all(db, &select).await?;
    Ok(found.first().map_or(0, |ground| ground.grinds))
}

/// What was moved of parts of a kind on a torch from an instant on, by kind of movement.
pub async fn moved_since(
    db: &impl ConnectionTrait,
    (torch, since): (i64, i64),
    (part_kind, kinds): (&str, &[&str]),
    facts: Facts,
) -> Result<Vec<super::past::Sum>, Error> {
    let mut select = Query::select();
    select
        .column((movements::Entity, movements::Column::PartId))
        .column((movements::Entity, movements::Column::Kind))
        .expr_as(sum(moved(movements::Column::Quantity)), "quantity")
        .expr_as(
            moved(movements::Column::Id).count().cast_as("bigint"),
            "rows",
        )
        .from(entries::Entity)
        .inner_join(
            movements::Entity,
            moved(movements::Column::EntryId).equals((entries::Entity, entries::Column::Id)),
        )
        .inner_join(
            parts::Entity,
            Expr::col((parts::Entity, parts::Column::Id))
                .equals((movements::Entity, movements::Column::PartId)),
        )
        .and_where(entry(entries::Column::TorchId).eq(torch))
        .and_where(entry(entries::Column::HappenedAt).gte(since))
        .and_where(Expr::col((parts::Entity, parts::Column::Kind)).eq(part_kind))
        .and_where(moved(movements::Column::Kind).is_in(kinds.iter().copied()))
        .cond_where(facts.of_entries())
        .group_by_col((movements::Entity, movements::Column::PartId))
        .group_by_col((movements::Entity, movements::Column::Kind));
    all(db, &select).await
}
