//! The sheets of what there is and what to buy: stock, the buy list, parts, kits, offers, wear.

use std::sync::Arc;

use actix_web::{get, web};
use types::{
    BuyLine, Forecast, GetBuyList, GetForecasts, GetStock, Kit, KitLine, ListStock, Offer, Page,
    Part, SheetPath, Stock,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::listed::{Listed, PAGE};
use super::{Answered, Cell, Sheet, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service;
use crate::service::instant::Zones;
use crate::sheets::csv::value;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(get_stock_sheet)
        .service(get_buy_list_sheet)
        .service(get_parts_sheet)
        .service(get_kits_sheet)
        .service(get_offers_sheet)
        .service(get_wear_sheet);
}

const STOCK: [&str; 14] = [
    "part",
    "name",
    "site",
    "drawers",
    "unit",
    "on_hand",
    "on_hold",
    "allocated",
    "available",
    "on_order",
    "position",
    "state",
    "held_because",
    "counted_at",
];

/// The stock of a site as a sheet, a row a part.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath, GetStock), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/stock.{form}")]
async fn get_stock_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<GetStock>,
) -> Answer {
    let listed = Listed {
        title: "stock",
        columns: STOCK,
        as_of: app.context.clock.now(),
    };
    let zones = Arc::new(service::sites::zones(&app.context, None).await?);
    let page = move |after| {
        let (app, query, zones) = (app.clone(), query.0.clone(), Arc::clone(&zones));
        async move {
            let query = ListStock {
                site: query.site,
                as_of: query.as_of,
                known: query.known,
                limit: PAGE,
                after,
            };
            let page = service::stock::list(&app.context, &query).await?;
            let rows = page.stock.iter().map(|row| stock(row, &zones));
            Ok((rows.collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn stock(row: &Stock, zones: &Zones) -> [Cell; 14] {
    [
        (&row.part).into(),
        (&row.name).into(),
        (&row.site).into(),
        row.drawers.join(" ").into(),
        (&row.unit).into(),
        row.on_hand.into(),
        row.on_hold.into(),
        row.allocated.into(),
        row.available.into(),
        row.on_order.into(),
        row.position.into(),
        (&row.state).into(),
        (&row.held_because).into(),
        (&row.counted_at.map(|at| zones.at(&row.site, &at))).into(),
    ]
}

const BUY_LIST: [&str; 19] = [
    "part",
    "subject",
    "name",
    "unit",
    "state",
    "on_hand",
    "available",
    "on_order",
    "order_point",
    "chance",
    "per_week",
    "supplier",
    "packs",
    "pack_size",
    "price",
    "cost",
    "currency",
    "order_by",
    "says",
];
/// The places of the columns whose product is the cost, and of the cost.
const PACKS_BY_PRICE: [u16; 2] = [12, 14];
const COST: u16 = 15;

/// The buy list of a site as a sheet, what is to be bought first on top. A workbook adds up the cost.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath, GetBuyList), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/buy-list.{form}")]
async fn get_buy_list_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<GetBuyList>,
) -> Answer {
    let told = service::looks::buy_list(&app.context, &query).await?;
    let mut currencies: Vec<&str> = told
        .lines
        .iter()
        .filter_map(|line| Some(line.purchase.as_ref()?.currency.as_str()))
        .collect();
    currencies.dedup();
    let mut sheet = Sheet::new("buy-list", BUY_LIST, told.as_of);
    for line in &told.lines {
        sheet.push(buy_line(line));
    }
    // Two currencies do not add up.
    if currencies.len() == 1 {
        sheet = sheet.with_total(COST);
    }
    sheet.answer(form.form)
}

fn buy_line(line: &BuyLine) -> [Cell; 19] {
    let bought = line.purchase.as_ref();
    let cell = |of: &dyn Fn(&types::Purchase) -> Cell| bought.map_or(Cell::Nothing, of);
    [
        (&line.part).into(),
        (&line.subject).into(),
        (&line.name).into(),
        (&line.unit).into(),
        (&line.state).into(),
        line.on_hand.into(),
        line.available.into(),
        line.on_order.into(),
        line.order_point.into(),
        line.chance.into(),
        (&line.per_week).into(),
        cell(&|it| (&it.supplier).into()),
        cell(&|it| it.packs.into()),
        cell(&|it| it.pack_size.into()),
        cell(&|it| Cell::money(it.price_minor, &it.currency)),
        cell(&|it| Cell::product(PACKS_BY_PRICE, it.packs * it.price_minor, &it.currency)),
        cell(&|it| (&it.currency).into()),
        cell(&|it| {
            (&it.order_by
                .map(|by| by.format("%Y-%m-%d %H:%M").to_string()))
                .into()
        }),
        (&line.says).into(),
    ]
}

const PARTS: [&str; 18] = [
    "part",
    "kind",
    "name",
    "class",
    "diameter",
    "length",
    "family",
    "cup_number",
    "seat",
    "bore",
    "arrangement",
    "composition",
    "grade",
    "marking",
    "unit",
    "renew_months",
    "renew_removals",
    "note",
];

/// The parts as a sheet, a row a part, by code.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/parts.{form}")]
async fn get_parts_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
) -> Answer {
    let listed = Listed {
        title: "parts",
        columns: PARTS,
        as_of: app.context.clock.now(),
    };
    let page = move |after| {
        let app = app.clone();
        async move {
            let page = service::parts::list(&app.context, &Page { limit: PAGE, after }).await?;
            Ok((page.parts.iter().map(part).collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn part(row: &Part) -> [Cell; 18] {
    [
        (&row.code).into(),
        (&row.kind).into(),
        (&row.name).into(),
        (&row.class).into(),
        (&row.diameter).into(),
        (&row.length).into(),
        (&row.family).into(),
        (&row.cup_number).into(),
        (&row.seat).into(),
        (&row.bore).into(),
        (&row.arrangement).into(),
        (&row.composition).into(),
        (&row.grade).into(),
        (&row.marking).into(),
        (&row.unit).into(),
        (&row.renew_months).into(),
        (&row.renew_removals).into(),
        (&row.note).into(),
    ]
}

const KITS: [&str; 5] = ["kit", "name", "part", "quantity", "or"];

/// The kits as a sheet, a row a slot.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/kits.{form}")]
async fn get_kits_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
) -> Answer {
    let listed = Listed {
        title: "kits",
        columns: KITS,
        as_of: app.context.clock.now(),
    };
    let page = move |after| {
        let app = app.clone();
        async move {
            let page = service::kits::list(&app.context, &Page { limit: PAGE, after }).await?;
            let rows = page
                .kits
                .iter()
                .flat_map(|kit| kit.parts.iter().map(|line| slot(kit, line)));
            Ok((rows.collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn slot(kit: &Kit, line: &KitLine) -> [Cell; 5] {
    [
        (&kit.code).into(),
        (&kit.name).into(),
        (&line.part).into(),
        line.quantity.into(),
        line.or.join(" ").into(),
    ]
}

const OFFERS: [&str; 8] = [
    "offer",
    "supplier",
    "part",
    "pack_size",
    "price",
    "currency",
    "breaks",
    "none_until",
];

/// The offers as a sheet, a row an offer.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/offers.{form}")]
async fn get_offers_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
) -> Answer {
    let listed = Listed {
        title: "offers",
        columns: OFFERS,
        as_of: app.context.clock.now(),
    };
    let page = move |after| {
        let app = app.clone();
        async move {
            let page = service::offers::list(&app.context, &Page { limit: PAGE, after }).await?;
            Ok((page.offers.iter().map(offer).collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

/// Breaks as `10:38.00; 20:35.00`: from so many packs on, each at that price.
fn offer(row: &Offer) -> [Cell; 8] {
    let breaks = row.breaks.iter().map(|it| {
        let price = value(&Cell::money(it.price_minor, &row.currency));
        format!("{}:{price}", it.packs_min)
    });
    [
        row.id.to_string().into(),
        (&row.supplier).into(),
        (&row.part).into(),
        row.pack_size.into(),
        Cell::money(row.price_minor, &row.currency),
        (&row.currency).into(),
        breaks.collect::<Vec<_>>().join("; ").into(),
        (&row.none_until).into(),
    ]
}

const WEAR: [&str; 15] = [
    "part",
    "name",
    "site",
    "group",
    "expected",
    "need",
    "target",
    "available",
    "chance",
    "order_point",
    "own_share",
    "rung",
    "run_out_early",
    "run_out_median",
    "run_out_late",
];

/// What the wear of parts comes to over a size of work, as a sheet: a row a part. It takes what a forecast takes.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath, GetForecasts), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/wear.{form}")]
async fn get_wear_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<GetForecasts>,
) -> Answer {
    let told = service::forecasts::get(&app.context, &query).await?;
    let mut sheet = Sheet::new("wear", WEAR, told.as_of);
    for it in &told.forecasts {
        sheet.push(wear(it, (&told.site, &told.group)));
    }
    sheet.answer(form.form)
}

fn wear(it: &Forecast, (site, group): (&str, &str)) -> [Cell; 15] {
    let day = |of: &dyn Fn(&types::RunOut) -> Option<chrono::NaiveDate>| {
        Cell::from(&it.run_out.as_ref().and_then(of))
    };
    [
        (&it.part).into(),
        (&it.name).into(),
        site.into(),
        group.into(),
        it.expected.into(),
        it.need.into(),
        it.target.into(),
        it.available.into(),
        it.chance.into(),
        (&it.order_point).into(),
        it.own_share.into(),
        i64::from(it.rung.number).into(),
        day(&|out| out.early),
        day(&|out| out.median),
        day(&|out| out.late),
    ]
}
