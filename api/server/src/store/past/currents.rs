//! The ledger added up by the polarity and the current that were told; entries that tell neither are left out.

use sea_orm::sea_query::{CaseStatement, Condition, Expr, ExprTrait, Func, Query, SelectStatement};
use sea_orm::{ConnectionTrait, FromQueryResult};

use super::{Facts, all, entry, moved, movements_at, sum};
use crate::store::Error;
use crate::store::entity::{entries, movements, set_up_parts};

/// What was used of a part, or what it was exposed to, by a group at one current.
#[derive(Clone, Debug, FromQueryResult)]
pub struct AtCurrent {
    /// The part.
    pub part_id: i64,
    /// The operator group.
    pub operator_group: String,
    /// The polarity; empty if it was not told.
    pub polarity: String,
    /// The current in amperes; 0 if it was not told.
    pub amps: i64,
    /// The kind of movement; empty for exposure.
    pub kind: String,
    /// The sum of the quantities as told.
    pub quantity: i64,
    /// Seconds of arc time.
    pub arc_seconds: i64,
    /// Grinds.
    pub grinds: i64,
}

/// Only what tells a current, by part, group and current.
fn by_current(select: &mut SelectStatement, part: Expr) {
    let polarity = (entries::Entity, entries::Column::Polarity);
    let amps = (entries::Entity, entries::Column::Amps);
    let told = Condition::any()
        .add(entry(entries::Column::Polarity).is_not_null())
        .add(entry(entries::Column::Amps).is_not_null());
    let or = |column: Expr, none: Expr| Func::coalesce([column, none]);
    select
        .expr_as(part.clone(), "part_id")
        .column((entries::Entity, entries::Column::OperatorGroup))
        .expr_as(or(Expr::col(polarity), Expr::val("")), "polarity")
        .expr_as(
            Expr::from(or(Expr::col(amps), Expr::val(0_i64))).cast_as("bigint"),
            "amps",
        )
        .cond_where(told)
        .add_group_by([part])
        .group_by_col((entries::Entity, entries::Column::OperatorGroup))
        .group_by_col(polarity)
        .group_by_col(amps);
}

fn nothing(select: &mut SelectStatement, names: &[&'static str]) {
    for name in names {
        select.expr_as(Expr::val(0_i64).cast_as("bigint"), *name);
    }
}

/// What was moved of those parts at a site by those kinds of movements, by current.
pub async fn used_at(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
    kinds: &[&str],
    facts: Facts,
) -> Result<Vec<AtCurrent>, Error> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let mut select = movements_at(site, facts);
    nothing(&mut select, &["arc_seconds", "grinds"]);
    by_current(&mut select, moved(movements::Column::PartId));
    select
        .column((movements::Entity, movements::Column::Kind))
        .expr_as(sum(moved(movements::Column::Quantity)), "quantity")
        .and_where(moved(movements::Column::PartId).is_in(parts.iter().copied()))
        .and_where(moved(movements::Column::Kind).is_in(kinds.iter().copied()))
        .and_where(moved(movements::Column::Quantity).ne(0))
        .group_by_col((movements::Entity, movements::Column::Kind));
    all(db, &select).await
}

/// What those parts were exposed to at a site, by current: what was fitted, and what an entry names alone.
pub async fn exposed_at(
    db: &impl ConnectionTrait,
    (site, parts): (i64, &[i64]),
    facts: Facts,
) -> Result<Vec<AtCurrent>, Error> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let mut exposed: Vec<AtCurrent> = all(db, &fitted((site, parts), facts)).await?;
    exposed.extend(all::<AtCurrent>(db, &alone((site, parts), facts)).await?);
    Ok(exposed)
}

fn fitted((site, parts): (i64, &[i64]), facts: Facts) -> SelectStatement {
    // Grinds of another electrode wear nothing that is fitted.
    let elsewhere = entry(entries::Column::ExposedPartId).is_not_null();
    let grinds = CaseStatement::new()
        .case(elsewhere, 0)
        .finally(entry(entries::Column::Grinds));
    let grinds = Expr::Case(Box::new(grinds));
    let arc = entry(entries::Column::ArcSeconds);
    let anything = Condition::any()
        .add(arc.clone().ne(0))
        .add(grinds.clone().ne(0));
    let part = Expr::col((set_up_parts::Entity, set_up_parts::Column::PartId));
    let set_up = (set_up_parts::Entity, set_up_parts::Column::SetUpId);
    let mut select = Query::select();
    nothing(&mut select, &["quantity"]);
    by_current(&mut select, part.clone());
    select
        .expr_as(Expr::val(""), "kind")
        .expr_as(sum(arc), "arc_seconds")
        .expr_as(sum(grinds), "grinds")
        .from(set_up_parts::Entity)
        .inner_join(
            entries::Entity,
            entry(entries::Column::SetUpId).equals(set_up),
        )
        .and_where(entry(entries::Column::SiteId).eq(site))
        .and_where(part.is_in(parts.iter().copied()))
        .cond_where(anything)
        .cond_where(facts.of_entries());
    select
}

fn alone((site, parts): (i64, &[i64]), facts: Facts) -> SelectStatement {
    let part = entry(entries::Column::ExposedPartId);
    let mut select = Query::select();
    nothing(&mut select, &["quantity", "arc_seconds"]);
    by_current(&mut select, part.clone());
    select
        .expr_as(Expr::val(""), "kind")
        .expr_as(sum(entry(entries::Column::Grinds)), "grinds")
        .from(entries::Entity)
        .and_where(entry(entries::Column::SiteId).eq(site))
        .and_where(part.is_in(parts.iter().copied()))
        .and_where(entry(entries::Column::Grinds).ne(0))
        .cond_where(facts.of_entries());
    select
}
