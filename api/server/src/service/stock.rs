//! Stock: the levels as people ask for them, and how a level came about.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use domain::ledger::{Level, MovementKind};
use domain::question::QuestionKind;
use sea_orm::ConnectionTrait;
use types::{ListStock, MovedSince, Page, Stock, StockExplanation, StockPage};

use super::ledger::{Book, Double};
use super::{Context, Error, codes, instant, parts, site_rules};
use crate::store;
use crate::store::entity::{levels, sites};

/// The stock of a site, a page by part.
pub async fn list(context: &Context, query: &ListStock) -> Result<StockPage, Error> {
    let db = context.store.read();
    let now = context.clock.now();
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let limit = Page {
        limit: query.limit,
        after: None,
    }
    .limit();
    let rows = store::parts::list(db, query.after.as_deref(), limit).await?;
    let next = codes::next(&rows, limit, |row| row.code_key.clone());
    let levels = store::levels::find_many(db, rows.iter().map(|row| (row.id, site.id))).await?;
    let levels: HashMap<i64, levels::Model> =
        levels.into_iter().map(|row| (row.part_id, row)).collect();
    let doubts = doubts(db, (rows.iter().map(|row| row.id), site.id)).await?;
    let stock = rows.iter().map(|part| {
        let doubts = doubts.get(&part.id).map_or(&[][..], Vec::as_slice);
        line(part, &site, (levels.get(&part.id), doubts), now)
    });
    Ok(StockPage {
        stock: stock.collect::<Result<_, _>>()?,
        next,
    })
}

/// The stock of one part.
pub async fn get(context: &Context, code: &str, site: Option<&str>) -> Result<Stock, Error> {
    let db = context.store.read();
    let part = codes::part(db, code).await?;
    let site = codes::site_or_first(db, "?site", site).await?;
    let level = store::levels::find_many(db, [(part.id, site.id)])
        .await?
        .pop();
    let doubts = doubts(db, ([part.id].into_iter(), site.id)).await?;
    let doubts = doubts.get(&part.id).map_or(&[][..], Vec::as_slice);
    line(&part, &site, (level.as_ref(), doubts), context.clock.now())
}

/// How the stock of one part came about.
pub async fn explain(
    context: &Context,
    code: &str,
    site: Option<&str>,
) -> Result<StockExplanation, Error> {
    let stock = get(context, code, site).await?;
    let db = context.store.read();
    let key = (
        codes::part(db, code).await?.id,
        codes::site(db, &stock.site).await?.id,
    );
    let newest = store::counts::standing(db, key).await?;
    let newest = newest
        .into_iter()
        .max_by_key(|count| (count.happened_at, count.entry_id));
    let since = newest.as_ref().map(|count| count.happened_at);
    let sums = store::movements::sums_after(db, key, since).await?;
    let moved: Vec<MovedSince> = sums
        .into_iter()
        .map(|sum| {
            let sign = MovementKind::parse(&sum.kind).map_or(0, MovementKind::on_hand_sign);
            MovedSince {
                kind: sum.kind,
                quantity: sign * sum.quantity,
                entries: sum.rows,
            }
        })
        .collect();
    let counted = newest.map(|count| count.counted);
    let says = says(&stock, counted, &moved);
    Ok(StockExplanation {
        stock,
        counted,
        moved,
        says,
    })
}

fn says(stock: &Stock, counted: Option<i64>, moved: &[MovedSince]) -> String {
    let start = match (counted, stock.counted_at) {
        (Some(counted), Some(at)) => {
            format!("{counted} counted on {}", at.format("%-d %b %Y %H:%M UTC"))
        }
        _ => "Never counted, so from 0".to_owned(),
    };
    let moved = moved.iter().filter(|moved| moved.quantity != 0);
    let moved = moved.map(|moved| format!("{:+} {}", moved.quantity, moved.kind));
    let sum: Vec<String> = std::iter::once(start).chain(moved).collect();
    format!("{}: {} on hand.", sum.join(", "), stock.on_hand)
}

/// The state of a part of which nothing may be used though it is there, or could come.
fn state(level: Level) -> Option<String> {
    let word = if level.barred {
        site_rules::NOT_PERMITTED
    } else if level.on_hold > 0 && level.usable() == 0 {
        site_rules::HELD
    } else {
        return None;
    };
    Some(word.to_owned())
}

/// The entries of parts at a site that may be double, and of which nobody has told yet.
async fn doubts(
    db: &impl ConnectionTrait,
    (parts, site): (impl Iterator<Item = i64>, i64),
) -> Result<HashMap<i64, Vec<Double>>, Error> {
    let kind = QuestionKind::DoubleEntry.as_str();
    let mut doubts: HashMap<i64, Vec<Double>> = HashMap::new();
    for open in store::questions::open_of(db, kind, (parts, site)).await? {
        let double = serde_json::from_str(&open.details)
            .map_err(|error| Error::Internal(error.to_string()))?;
        doubts
            .entry(open.part_id.unwrap_or_default())
            .or_default()
            .push(double);
    }
    Ok(doubts)
}

fn line(
    part: &store::entity::parts::Model,
    site: &sites::Model,
    (row, doubts): (Option<&levels::Model>, &[Double]),
    now: DateTime<Utc>,
) -> Result<Stock, Error> {
    let spec = parts::spec(part)?;
    let level = row.map(Book::from).unwrap_or_default().level(part, site);
    let by_rule = site_rules::held_because(site, site_rules::of_part(site, part));
    let set_aside = || (level.on_hold > 0).then(|| "set aside".to_owned());
    // A count stands for what happened before it, double or not.
    let counted_at = row.and_then(|row| row.counted_at);
    let doubtful = doubts
        .iter()
        .filter(|double| counted_at.is_none_or(|counted| double.at > counted));
    let doubtful: i64 = doubtful.map(|double| double.quantity).sum();
    Ok(Stock {
        part: part.code.clone(),
        name: spec.describe(),
        site: site.code.clone(),
        unit: spec.kind().unit().as_str().to_owned(),
        on_hand: level.on_hand,
        on_hold: level.held(),
        state: state(level),
        held_because: by_rule.or_else(set_aside),
        allocated: level.allocated,
        available: level.usable(),
        on_order: level.on_order,
        position: level.position(),
        if_double: (doubtful != 0).then(|| level.on_hand + doubtful),
        counted_at: row.and_then(|row| row.counted_at).map(instant::from_micros),
        as_of: now,
    })
}
