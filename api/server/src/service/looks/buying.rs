//! The buy list: what a look finds of the stock that is watched, without anything being told.

use std::cmp::Reverse;
use std::collections::HashMap;

use domain::warning::Stock;
use types::{BuyLine, BuyList, GetBuyList, Purchase, WarningFigures};

use super::stock::{Here, StockWatch, wanted_packs};
use super::{Context, Error, Plan, codes, doubtful};
use crate::store;
use crate::store::entity::levels;

/// What to buy for a site.
pub async fn buy_list(context: &Context, query: &GetBuyList) -> Result<BuyList, Error> {
    let db = context.store.read();
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let only = match &query.part {
        Some(code) => {
            let parts = codes::named_parts(db, &[code], |_| "?part".to_owned()).await?;
            Some(parts.iter().map(|part| part.id).collect())
        }
        None => None,
    };
    let plan = Plan::load(context, site, only.as_ref()).await?;
    let ids: Vec<i64> = plan.stock.iter().flat_map(StockWatch::ids).collect();
    let keys = ids.iter().map(|part| (*part, plan.site.id));
    let levels: HashMap<i64, levels::Model> = store::levels::find_many(db, keys)
        .await?
        .into_iter()
        .filter(|row| row.site_id == plan.site.id)
        .map(|row| (row.part_id, row))
        .collect();
    let here = Here {
        site: &plan.site,
        now: plan.now,
        today: plan.today,
        market: &plan.market,
        levels: &levels,
        coming: &plan.market.coming(db, plan.site.id).await?,
        doubtful: &doubtful(db, &ids, plan.site.id).await?,
    };
    let mut lines = Vec::new();
    for watch in &plan.stock {
        let Some(line) = line(watch, &here)? else {
            continue;
        };
        if query.all || line.state == ORDER {
            lines.push(line);
        }
    }
    lines.sort_by_key(|line| {
        let by = line.purchase.as_ref().and_then(|it| it.order_by);
        (
            Reverse(line.state == ORDER),
            by.is_none(),
            by,
            line.subject.clone(),
        )
    });
    Ok(BuyList {
        site: plan.site.code,
        as_of: plan.now,
        lines,
        cannot_tell: plan.cannot_tell,
    })
}

/// States of a line, in the words of the trade.
const ORDER: &str = "order";
const ON_ORDER: &str = "on order";
const ENOUGH: &str = "enough";

/// A line; nothing where none of the parts was ever counted or received.
fn line(watch: &StockWatch, here: &Here<'_>) -> Result<Option<BuyLine>, Error> {
    let Some(candidate) = watch.read(here)? else {
        return Ok(None);
    };
    let Some(figures) = candidate.figures else {
        return Ok(None);
    };
    let is_low = candidate.reading.is_low;
    let state = match (is_low, candidate.reading.is_clear, figures.on_order > 0) {
        (true, ..) => ORDER,
        (false, false, true) => ON_ORDER,
        (false, ..) => ENOUGH,
    };
    let purchase = is_low
        .then(|| purchase(watch, &figures, here))
        .transpose()?;
    let says = if is_low {
        candidate.says
    } else {
        standing(watch, &figures)
    };
    Ok(Some(BuyLine {
        part: match watch.parts.as_slice() {
            [part] => Some(part.code.clone()),
            _ => None,
        },
        subject: candidate.subject,
        name: watch.name.clone(),
        unit: watch.unit.as_str().to_owned(),
        state: state.to_owned(),
        on_hand: figures.on_hand,
        available: figures.available,
        on_order: figures.on_order,
        order_point: figures.order_point,
        chance: figures.chance,
        per_week: figures.per_week,
        purchase: purchase.flatten(),
        says,
    }))
}

/// What is said of what need not be bought.
fn standing(watch: &StockWatch, figures: &WarningFigures) -> String {
    let amount = |pieces: i64| watch.unit.amount(pieces);
    let to_come = match figures.on_order {
        0 => String::new(),
        pieces => format!(", {} on order", amount(pieces)),
    };
    let (left, point) = (
        amount(figures.available),
        amount(figures.order_point.max(0)),
    );
    format!("{}: {left} left{to_come}, order point {point}.", watch.name)
}

/// Whole packs until it is enough, from the supplier who delivers first; nothing where nobody is known to sell it.
fn purchase(
    watch: &StockWatch,
    figures: &WarningFigures,
    here: &Here<'_>,
) -> Result<Option<Purchase>, Error> {
    let source = watch
        .from
        .and_then(|part| Some((part, here.market.source(part)?)));
    let Some((part, source)) = source else {
        return Ok(None);
    };
    let stock = Stock {
        point: figures.order_point,
        on_hand: figures.on_hand,
        available: figures.available,
        on_order: figures.on_order,
        late_from: None,
        chance: figures.chance,
    };
    let early = match &watch.uses {
        Some(uses) => uses.early(stock.position())?,
        None => None,
    };
    let code = watch.parts.iter().find(|row| row.id == part);
    Ok(Some(Purchase {
        part: code.map(|row| row.code.clone()).unwrap_or_default(),
        supplier: source.supplier.clone(),
        packs: wanted_packs(&stock, source),
        pack_size: source.offer.pack_size,
        price_minor: source.offer.price_minor,
        currency: source.currency.clone(),
        arrives: source.arrives,
        order_by: early.and_then(|day| here.market.order_by(source, day)),
    }))
}
