//! How goods that came for an order differ from what it waits for. A receipt is a fact, so nothing is
//! refused here: it is said.

use domain::goods_in::{Amount, Mismatch, amount, mismatch};
use sea_orm::ConnectionTrait;
use types::{Difference, Recorded};

use super::Answer;
use crate::service::{Error, orders, parts};
use crate::store;
use crate::store::entity::{orders as order_rows, parts as part_rows};

/// A part that an order waits for, and how many of it.
#[derive(Debug)]
struct Awaited {
    part: part_rows::Model,
    to_come: i64,
}

/// How a part that came differs from what its order waits for, if it does.
pub(super) async fn of(
    db: &impl ConnectionTrait,
    order: &order_rows::Model,
    part: &part_rows::Model,
    came: i64,
) -> Result<Option<Difference>, Error> {
    let lines = store::orders::lines(db, [order.id]).await?;
    if !lines.iter().any(|line| line.part_id == part.id) {
        let waiting: Vec<(i64, i64)> = lines
            .iter()
            .filter_map(|line| Some((line.part_id, orders::to_come_of(line)?)))
            .collect();
        let awaited = awaited(db, &waiting).await?;
        return other(order.id, part, came, &awaited).map(Some);
    }
    let own = lines.iter().filter(|line| line.part_id == part.id);
    let to_come: i64 = own.filter_map(orders::to_come_of).sum();
    Ok(number(part, to_come, came))
}

/// How many came against how many were to come.
fn number(part: &part_rows::Model, to_come: i64, came: i64) -> Option<Difference> {
    let code = &part.code;
    let (kind, says) = match amount(to_come, came) {
        Amount::Exact => return None,
        Amount::Short(left) => (
            "short",
            format!("{code}: {came} of {to_come} came, {left} still to come."),
        ),
        Amount::Over(more) => (
            "over",
            format!("{code}: {came} came where {to_come} were to come: {more} more than ordered."),
        ),
    };
    Some(Difference {
        part: code.clone(),
        kind: kind.to_owned(),
        instead_of: None,
        ordered: to_come,
        came,
        says,
    })
}

/// The parts that an order waits for; several lines of one part are one.
async fn awaited(db: &impl ConnectionTrait, waiting: &[(i64, i64)]) -> Result<Vec<Awaited>, Error> {
    let parts = store::parts::get_many(db, waiting.iter().map(|(part, _)| *part)).await?;
    let awaited = parts.into_iter().map(|part| {
        let own = waiting.iter().filter(|(id, _)| *id == part.id);
        let to_come = own.map(|(_, to_come)| to_come).sum();
        Awaited { part, to_come }
    });
    Ok(awaited.collect())
}

/// A part that the order does not have: what it seems to have come for, and what is wrong with it.
fn other(
    order: i64,
    part: &part_rows::Model,
    came: i64,
    awaited: &[Awaited],
) -> Result<Difference, Error> {
    let came_spec = parts::spec(part)?;
    let mut judged = Vec::with_capacity(awaited.len());
    for awaited in awaited {
        judged.push((awaited, mismatch(&parts::spec(&awaited.part)?, &came_spec)));
    }
    let is_size = |it: &&(&Awaited, Option<Mismatch>)| matches!(it.1, Some(Mismatch::Size(_)));
    let same_kind = |it: &&(&Awaited, Option<Mismatch>)| it.0.part.kind == part.kind;
    let size = judged.iter().find(is_size);
    // Of another kind: what it came for can be told only if the order waits for nothing else.
    let only = || judged.first().filter(|_| judged.len() == 1);
    let meant = size.or_else(|| judged.iter().find(same_kind)).or_else(only);
    let code = &part.code;
    let kind = if size.is_some() {
        "wrong size"
    } else {
        "wrong part"
    };
    let Some((meant, why)) = meant else {
        return Ok(Difference {
            part: code.clone(),
            kind: kind.to_owned(),
            instead_of: None,
            ordered: 0,
            came,
            says: format!("{code} is not on order {order}: recorded, and it fills no line."),
        });
    };
    let why = match why {
        Some(Mismatch::Size(why) | Mismatch::Part(why)) => why.as_str(),
        None => "another code for the same part",
    };
    let (ordered, to_come) = (&meant.part.code, meant.to_come);
    Ok(Difference {
        part: code.clone(),
        kind: kind.to_owned(),
        instead_of: Some(ordered.clone()),
        ordered: to_come,
        came,
        says: format!(
            "{code} came for {ordered}: {why}. Recorded, but it fills no line of order {order}: \
             {to_come} {ordered} still to come."
        ),
    })
}

/// The differences that an answer tells.
pub fn differences(answer: &Answer) -> Vec<Difference> {
    serde_json::from_str(&answer.body)
        .map_or_else(|_| Vec::new(), |recorded: Recorded| recorded.differences)
}
