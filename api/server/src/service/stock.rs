//! Stock: the levels as people ask for them, and how a level came about.

use std::collections::HashMap;

use domain::ledger::{Book, Level, MovementKind};
use domain::question::QuestionKind;
use sea_orm::ConnectionTrait;
use types::{
    ExplainedEntry, GetStock, ListStock, MovedSince, Page, Stock, StockExplanation, StockPage,
};

use super::known::{self, View};
use super::ledger::{Double, book};
use super::{Context, Error, codes, instant, parts, site_rules};
use crate::store;
use crate::store::entity::sites;
use crate::store::past::{self, Facts};

mod kept;

pub use kept::Kept;

/// How many entries an explanation shows: as many as a person reads.
const EXPLAINED: u64 = 50;

/// The stock of a site, a page by part.
pub async fn list(context: &Context, query: &ListStock) -> Result<StockPage, Error> {
    let db = context.store.read();
    let past = (query.as_of.as_deref(), query.known.as_deref());
    let view = View::asked(past.0, past.1, context.clock.now())?;
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let limit = Page {
        limit: query.limit,
        after: None,
    }
    .limit();
    let rows = store::parts::list(db, query.after.as_deref(), limit).await?;
    let next = codes::next(&rows, limit, |row| row.code_key.clone());
    let ids: Vec<i64> = rows.iter().map(|row| row.id).collect();
    let levels = known::levels(db, view, (site.id, &ids)).await?;
    let doubts = doubts(db, view, (site.id, &ids)).await?;
    let mut drawers = drawers_of(db, site.id, ids).await?;
    let stock = rows.iter().map(|part| {
        let doubts = doubts.get(&part.id).map_or(&[][..], Vec::as_slice);
        let book = levels.get(&part.id).copied().unwrap_or_default();
        let drawers = drawers.remove(&part.id).unwrap_or_default();
        line((part, drawers), &site, (book, doubts), view)
    });
    Ok(StockPage {
        stock: stock.collect::<Result<_, _>>()?,
        stands_for: view.says(),
        next,
    })
}

/// The stock of one part.
pub async fn get(context: &Context, code: &str, query: &GetStock) -> Result<Stock, Error> {
    let view = asked(context, query)?;
    let is_present = query.as_of.is_none() && query.known.is_none();
    if is_present && context.store.is_alone() {
        return present(context, code, query, view).await;
    }
    let (stock, _) = seen(context, code, query, view).await?;
    Ok(Stock {
        stands_for: view.says(),
        ..stock
    })
}

/// The stock of one part now, kept as long as nothing is written.
async fn present(
    context: &Context,
    code: &str,
    query: &GetStock,
    view: View,
) -> Result<Stock, Error> {
    // The generation is read before the database: what is written meanwhile makes the answer old at once.
    let generation = context.writer.generation();
    let asked = (code, query.site.as_deref());
    if let Some(kept) = context.kept_stock.find(generation, asked) {
        return Ok(Stock {
            as_of: view.at,
            ..kept
        });
    }
    let (stock, _) = seen(context, code, query, view).await?;
    context.kept_stock.put(generation, asked, stock.clone());
    Ok(stock)
}

fn asked(context: &Context, query: &GetStock) -> Result<View, Error> {
    let (as_of, known) = (query.as_of.as_deref(), query.known.as_deref());
    Ok(View::asked(as_of, known, context.clock.now())?)
}

/// The stock of one part, with the ids of part and site.
async fn seen(
    context: &Context,
    code: &str,
    query: &GetStock,
    view: View,
) -> Result<(Stock, (i64, i64)), Error> {
    let db = context.store.read();
    let part = codes::part(db, code).await?;
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let ids = (site.id, &[part.id][..]);
    let book = known::levels(db, view, ids).await?.remove(&part.id);
    let doubts = doubts(db, view, ids).await?;
    let doubts = doubts.get(&part.id).map_or(&[][..], Vec::as_slice);
    let drawers = drawers_of(db, site.id, [part.id]).await?;
    let drawers = drawers.into_values().flatten().collect();
    let book = (book.unwrap_or_default(), doubts);
    let stock = line((&part, drawers), &site, book, view)?;
    Ok((stock, (part.id, site.id)))
}

/// The drawers of a site in which those parts lie, in their order.
async fn drawers_of(
    db: &impl ConnectionTrait,
    site: i64,
    parts: impl IntoIterator<Item = i64>,
) -> Result<HashMap<i64, Vec<String>>, Error> {
    let mut drawers: HashMap<i64, Vec<String>> = HashMap::new();
    for (part, drawer) in store::drawers::of_parts(db, site, parts).await? {
        drawers.entry(part).or_default().push(drawer.code);
    }
    Ok(drawers)
}

/// How the stock of one part came about.
pub async fn explain(
    context: &Context,
    code: &str,
    query: &GetStock,
) -> Result<StockExplanation, Error> {
    let view = asked(context, query)?;
    let (stock, (part, site)) = seen(context, code, query, view).await?;
    let db = context.store.read();
    let newest = past::newest_counts(db, (site, &[part]), view.facts()).await?;
    let newest = newest.into_iter().next();
    let since = newest.as_ref().map(|count| count.happened_at);
    let sums = past::sums(db, (site, &[part]), since, view.facts()).await?;
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
        entries: entries(db, (part, site), since, view).await?,
        stands_for: view.says(),
        says,
    })
}

/// The newest entries behind a figure, with what takes them back.
async fn entries(
    db: &impl ConnectionTrait,
    key: (i64, i64),
    since: Option<i64>,
    view: View,
) -> Result<Vec<ExplainedEntry>, Error> {
    let rows = past::newest_moved(db, key, since, (view.facts(), EXPLAINED)).await?;
    let entries = store::entries::get_many(db, rows.iter().map(|row| row.entry_id)).await?;
    let reversals = store::entries::reversals_of(db, rows.iter().map(|row| row.entry_id)).await?;
    let told = rows.into_iter().filter_map(|row| {
        let entry = entries.iter().find(|entry| entry.id == row.entry_id)?;
        let back = reversals
            .iter()
            .find(|back| back.reverses == Some(entry.id))
            .filter(|back| view.facts().know(back.received_at));
        let sign = MovementKind::parse(&row.kind).map_or(0, MovementKind::on_hand_sign);
        Some(ExplainedEntry {
            entry: entry.id,
            change: sign * row.quantity,
            kind: row.kind,
            why: entry.what.clone().or_else(|| entry.why.clone()),
            by: entry.person.clone(),
            at: instant::with_offset(entry.happened_at, entry.offset_minutes),
            reverses: entry.reverses,
            reversed_by: back.map(|back| back.id),
        })
    });
    Ok(told.collect())
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
    view: View,
    (site, parts): (i64, &[i64]),
) -> Result<HashMap<i64, Vec<Double>>, Error> {
    let kind = QuestionKind::DoubleEntry.as_str();
    let mut doubts: HashMap<i64, Vec<Double>> = HashMap::new();
    let these = (parts.iter().copied(), site);
    let open = match view.facts() {
        Facts::ReceivedBy(at) => store::questions::open_then(db, kind, these, at).await?,
        Facts::All | Facts::HappenedBy(_) => store::questions::open_of(db, kind, these).await?,
    };
    for open in open {
        let double: Double = serde_json::from_str(&open.details)
            .map_err(|error| Error::Internal(error.to_string()))?;
        if matches!(view.facts(), Facts::HappenedBy(at) if double.at > at) {
            continue;
        }
        doubts
            .entry(open.part_id.unwrap_or_default())
            .or_default()
            .push(double);
    }
    Ok(doubts)
}

fn line(
    (part, drawers): (&store::entity::parts::Model, Vec<String>),
    site: &sites::Model,
    (book, doubts): (Book, &[Double]),
    view: View,
) -> Result<Stock, Error> {
    let spec = parts::spec(part)?;
    let level = book::level(&book, part, site);
    let by_rule = site_rules::held_because(site, site_rules::of_part(site, part));
    let set_aside = || (level.on_hold > 0).then(|| "set aside".to_owned());
    // A count stands for what happened before it, double or not.
    let counted_at = book.on_hand.counted.map(|(at, _)| at);
    let doubtful = doubts.iter().filter(|double| {
        counted_at.is_none_or(|counted| instant::from_micros(double.at) > counted)
    });
    let doubtful: i64 = doubtful.map(|double| double.quantity).sum();
    Ok(Stock {
        part: part.code.clone(),
        name: spec.describe(),
        site: site.code.clone(),
        drawers,
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
        counted_at,
        as_of: view.at,
        stands_for: None,
    })
}
