//! The sheets of the ledger: movements, use and counts, newest first.

use actix_web::{get, web};
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
use crate::service::ledger;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(get_movements_sheet)
        .service(get_usage_sheet)
        .service(get_counts_sheet);
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
    let page = move |after| {
        let (app, part) = (app.clone(), query.part.clone());
        async move {
            let query = ListMovements {
                part,
                torch: None,
                limit: PAGE,
                after,
            };
            let page = ledger::list_movements(&app.context, &query).await?;
            Ok((page.movements.iter().map(movement).collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn movement(row: &Movement) -> [Cell; 16] {
    [
        row.id.to_string().into(),
        row.entry.to_string().into(),
        row.at.into(),
        row.received_at.fixed_offset().into(),
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

const USAGE: [&str; 13] = [
    "entry",
    "when",
    "received_at",
    "site",
    "torch",
    "job",
    "arc_minutes",
    "grinds",
    "cut_backs",
    "starts",
    "group",
    "by",
    "reverses",
];

/// Arc time, grinds, cut-backs and starts as a sheet, newest received first. CSV is sent while it is read, however
/// long it is. What was taken is in the sheet of movements, under the same entry.
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
    let page = move |after| {
        let (app, torch) = (app.clone(), query.torch.clone());
        async move {
            let query = ListUsage {
                torch,
                limit: PAGE,
                after,
            };
            let page = ledger::list_usage(&app.context, &query).await?;
            Ok((page.usage.iter().map(usage).collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn usage(row: &Usage) -> [Cell; 13] {
    [
        row.entry.to_string().into(),
        row.at.into(),
        row.received_at.fixed_offset().into(),
        (&row.site).into(),
        (&row.torch).into(),
        (&row.job).into(),
        row.arc_minutes.into(),
        row.grinds.into(),
        row.cut_backs.into(),
        row.starts.into(),
        (&row.group).into(),
        (&row.by).into(),
        (&row.reverses.map(|it| it.to_string())).into(),
    ]
}

const COUNTS: [&str; 10] = [
    "entry",
    "counted_at",
    "received_at",
    "site",
    "part",
    "book",
    "counted",
    "variance",
    "by",
    "reversed",
];

/// The counts as a sheet, newest first. CSV is sent while it is read, however long it is.
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
    let page = move |after| {
        let (app, part) = (app.clone(), query.part.clone());
        async move {
            let query = ListCounts {
                part,
                limit: PAGE,
                after,
            };
            let page = ledger::list_counts(&app.context, &query).await?;
            Ok((page.counts.iter().map(count).collect(), page.next))
        }
    };
    listed.answer(form.form, page).await
}

fn count(row: &Count) -> [Cell; 10] {
    [
        row.entry.to_string().into(),
        row.at.into(),
        row.received_at.fixed_offset().into(),
        (&row.site).into(),
        (&row.part).into(),
        row.book.into(),
        row.counted.into(),
        row.variance.into(),
        (&row.by).into(),
        if row.reversed { "yes" } else { "no" }.into(),
    ]
}
