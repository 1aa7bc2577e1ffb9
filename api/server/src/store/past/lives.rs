//! What happened to a part at its torches: how it was used, and what each torch did since, newest first. Every query
//! goes down an index and ends at its limit, so that it costs the same however long the ledger is.

use sea_orm::sea_query::{CaseStatement, Expr, ExprTrait, Order, Query};
use sea_orm::{ConnectionTrait, FromQueryResult};

use super::{Facts, all, entry, moved, movements_at};
use crate::store::Error;
use crate::store::entity::{entries, movements, set_up_parts};

/// One use of a part; what was taken back is a row of its own.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Change {
    /// When.
    pub happened_at: i64,
    /// At which torch, if it was told.
    pub torch_id: Option<i64>,
    /// The kind of movement.
    pub kind: String,
    /// The quantity as told.
    pub quantity: i64,
}

/// What a torch did in one entry with the part fitted.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Exposed {
    /// When.
    pub happened_at: i64,
    /// The torch.
    pub torch_id: i64,
    /// Seconds of arc time.
    pub arc_seconds: i64,
    /// Grinds.
    pub grinds: i64,
}

/// The newest uses of a part at a site by those kinds of movements, newest first, `limit` of them at most.
pub async fn changes(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
    kinds: &[&str],
    (facts, limit): (Facts, u64),
) -> Result<Vec<Change>, Error> {
    let mut select = movements_at(site, facts);
    select
        .columns(
            [
                movements::Column::HappenedAt,
                movements::Column::Kind,
                movements::Column::Quantity,
            ]
            .map(|column| (movements::Entity, column)),
        )
        .column((entries::Entity, entries::Column::TorchId))
        .and_where(moved(movements::Column::PartId).eq(part))
        .and_where(moved(movements::Column::Kind).is_in(kinds.iter().copied()))
        .order_by(
            (movements::Entity, movements::Column::HappenedAt),
            Order::Desc,
        )
        .limit(limit);
    all(db, &select).await
}

/// What a torch did since an instant while the part was fitted, newest first, `limit` entries at most.
pub async fn exposed_since(
    db: &impl ConnectionTrait,
    (part, torch): (i64, i64),
    since: i64,
    (facts, limit): (Facts, u64),
) -> Result<Vec<Exposed>, Error> {
    // Grinds of another electrode wear nothing that is fitted.
    let elsewhere = entry(entries::Column::ExposedPartId).is_not_null();
    let grinds = CaseStatement::new()
        .case(elsewhere, 0)
        .finally(entry(entries::Column::Grinds));
    let set_up = (set_up_parts::Entity, set_up_parts::Column::SetUpId);
    let fitted = Expr::col((set_up_parts::Entity, set_up_parts::Column::PartId));
    let select = Query::select()
        .columns(
            [
                entries::Column::HappenedAt,
                entries::Column::TorchId,
                entries::Column::ArcSeconds,
            ]
            .map(|column| (entries::Entity, column)),
        )
        .expr_as(Expr::Case(Box::new(grinds)).cast_as("bigint"), "grinds")
        .from(entries::Entity)
        .inner_join(
            set_up_parts::Entity,
            entry(entries::Column::SetUpId).equals(set_up),
        )
        .and_where(fitted.eq(part))
        .and_where(entry(entries::Column::TorchId).eq(torch))
        .and_where(entry(entries::Column::HappenedAt).gte(since))
        .cond_where(facts.of_entries())
        .order_by((entries::Entity, entries::Column::HappenedAt), Order::Desc)
        .limit(limit)
        .to_owned();
    all(db, &select).await
}
