//! The sheets of the ledger: movements, use, counts and receipts, newest first.

use std::sync::Arc;

use actix_web::{get, web};
use domain::ledger::MovementKind;
use types::{
    Count, ListCounts, ListMovements, ListUsage, Movement, SheetOfPart, SheetOfTorch, SheetPath,
    Usage,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::listed::{Listed, PAGE};
use super::{Cell, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service::instant::Zones;
use crate::service::{self, ledger};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(get_movements_sheet)
        .service(get_usage_sheet)
        .service(get_counts_sheet)
        .service(get_receipts_sheet);
}

const MOVEMENTS: [&str; 16] = [
    "movement",
    "entry",
    "at",
    "received_at",
    "site",
    "kind",
    "part",
    "quantity",
    "lot",
    "torch",
    "job",
    "order",
    "group",
    "by",
    "why",
    "reverses",
];

/// The rows of the ledger as a sheet, newest first. CSV is sent while it is read, however long it is.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath, SheetOfPart), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/movements.{form}")]
async fn get_movements_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<SheetOfPart>,
) -> Answer {
    let listed = Listed {
        title: "movements",
        columns: MOVEMENTS,
        as_of: app.context.clock.now(),
    };
    let zones = Arc::new(service::sites::zones(&app.context, None).await?);
    let page = move |after| {
        let (app, part, zones) = (app.clone(), query.part.clone(), Arc::clone(&zones));
        async move {
            let query = ListMovements {
                part,
                limit: PAGE,
                after,
                ..ListMovements::default()
            };
            let page = ledger::list_movements(&app.context, &query).await?;
            let rows = page.movements.iter().map(|row| movement(row, &zones));
            Ok((rows.collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn movement(row: &Movement, zones: &Zones) -> [Cell; 16] {
    [
        row.id.to_string().into(),
        row.entry.to_string().into(),
        zones.at(&row.site, &row.at).into(),
        zones.at(&row.site, &row.received_at).into(),
        (&row.site).into(),
        (&row.kind).into(),
        (&row.part).into(),
        row.quantity.into(),
        (&row.lot).into(),
        (&row.torch).into(),
        (&row.job).into(),
        (&row.order).into(),
        (&row.group).into(),
        (&row.by).into(),
        (&row.why).into(),
        (&row.reverses.map(|it| it.to_string())).into(),
    ]
}

const USAGE: [&str; 22] = [
    "row_id",
    "when",
    "torch",
    "part",
    "what",
    "qty",
    "arc",
    "grinds",
    "cut_backs",
    "starts",
    "amps",
    "polarity",
    "group",
    "job",
    "site",
    "lot",
    "by",
    "note",
    "arc_minutes",
    "received_at",
    "reverses",
    "reversed",
];

/// Use as a sheet, newest received first: work, and what was taken, broken or lost. CSV is sent while it is read, however
/// long it is. It can be pushed into another shop.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath, SheetOfTorch), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/usage.{form}")]
async fn get_usage_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<SheetOfTorch>,
) -> Answer {
    let listed = Listed {
        title: "usage",
        columns: USAGE,
        as_of: app.context.clock.now(),
    };
    let zones = Arc::new(service::sites::zones(&app.context, None).await?);
    let page = move |after| {
        let (app, torch, zones) = (app.clone(), query.torch.clone(), Arc::clone(&zones));
        async move {
            let query = ListUsage {
                torch,
                limit: PAGE,
                after,
            };
            let page = ledger::list_usage(&app.context, &query).await?;
            let rows = page.usage.iter().map(|row| usage(row, &zones));
            Ok((rows.collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn usage(row: &Usage, zones: &Zones) -> [Cell; 22] {
    // What is nothing is left open, as whoever fills in such a sheet does.
    let told = |number: i64| Cell::from(&Some(number).filter(|it| *it != 0));
    let arc = Some(row.arc_minutes).filter(|it| *it != 0);
    [
        row.entry.to_string().into(),
        zones.at(&row.site, &row.at).into(),
        (&row.torch).into(),
        (&row.part).into(),
        (&row.what).into(),
        (&row.qty).into(),
        (&arc.map(|minutes| format!("{minutes}m"))).into(),
        told(row.grinds),
        told(row.cut_backs),
        told(row.starts),
        (&row.amps).into(),
        (&row.polarity).into(),
        (&row.group).into(),
        (&row.job).into(),
        (&row.site).into(),
        (&row.lot).into(),
        (&row.by).into(),
        (&row.note).into(),
        row.arc_minutes.into(),
        zones.at(&row.site, &row.received_at).into(),
        (&row.reverses.map(|it| it.to_string())).into(),
        yes_or_no(row.reversed),
    ]
}

fn yes_or_no(is_so: bool) -> Cell {
    if is_so { "yes" } else { "no" }.into()
}

const COUNTS: [&str; 11] = [
    "row_id",
    "site",
    "drawer",
    "part",
    "counted",
    "counted_at",
    "by",
    "book",
    "variance",
    "received_at",
    "reversed",
];

/// The counts as a sheet, newest first. CSV is sent while it is read, however long it is. What lay in several drawers is
/// one count, so the drawer is left open. It can be pushed into another shop.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath, SheetOfPart), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/counts.{form}")]
async fn get_counts_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<SheetOfPart>,
) -> Answer {
    let listed = Listed {
        title: "counts",
        columns: COUNTS,
        as_of: app.context.clock.now(),
    };
    let zones = Arc::new(service::sites::zones(&app.context, None).await?);
    let page = move |after| {
        let (app, part, zones) = (app.clone(), query.part.clone(), Arc::clone(&zones));
        async move {
            let query = ListCounts {
                part,
                limit: PAGE,
                after,
            };
            let page = ledger::list_counts(&app.context, &query).await?;
            let rows = page.counts.iter().map(|row| count(row, &zones));
            Ok((rows.collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn count(row: &Count, zones: &Zones) -> [Cell; 11] {
    [
        row.entry.to_string().into(),
        (&row.site).into(),
        Cell::Nothing,
        (&row.part).into(),
        row.counted.into(),
        zones.at(&row.site, &row.at).into(),
        (&row.by).into(),
        row.book.into(),
        row.variance.into(),
        zones.at(&row.site, &row.received_at).into(),
        yes_or_no(row.reversed),
    ]
}

const RECEIPTS: [&str; 11] = [
    "row_id",
    "when",
    "site",
    "part",
    "qty",
    "order",
    "lot",
    "by",
    "received_at",
    "reverses",
    "reversed",
];

/// The goods that came in as a sheet, newest first. CSV is sent while it is read, however long it is. It can be pushed
/// into another shop.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(SheetPath, SheetOfPart), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/receipts.{form}")]
async fn get_receipts_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<SheetOfPart>,
) -> Answer {
    let listed = Listed {
        title: "receipts",
        columns: RECEIPTS,
        as_of: app.context.clock.now(),
    };
    let zones = Arc::new(service::sites::zones(&app.context, None).await?);
    let page = move |after| {
        let (app, part, zones) = (app.clone(), query.part.clone(), Arc::clone(&zones));
        async move {
            let query = ListMovements {
                part,
                kind: Some(MovementKind::Receipt.as_str().to_owned()),
                limit: PAGE,
                after,
                ..ListMovements::default()
            };
            let page = ledger::list_movements(&app.context, &query).await?;
            let rows = page.movements.iter().map(|row| receipt(row, &zones));
            Ok((rows.collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn receipt(row: &Movement, zones: &Zones) -> [Cell; 11] {
    [
        row.entry.to_string().into(),
        zones.at(&row.site, &row.at).into(),
        (&row.site).into(),
        (&row.part).into(),
        row.quantity.into(),
        (&row.order).into(),
        (&row.lot).into(),
        (&row.by).into(),
        zones.at(&row.site, &row.received_at).into(),
        (&row.reverses.map(|it| it.to_string())).into(),
        yes_or_no(row.reversed),
    ]
}
