//! The sheets of kit checks and kit counts.

use actix_web::{get, web};
use types::{
    GetKitCount, KitCheck, KitCheckLine, KitCheckPath, KitCount, KitPath, KitPieces, Problem,
    SheetPath,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{Answered, Cell, Sheet, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(check_kit_sheet).service(count_kit_sheet);
}

/// Check a kit for a torch: one row a slot.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(KitCheckPath, SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
))]
#[get("/sheets/torches/{torch}/kits/{kit}/check.{form}")]
async fn check_kit_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    path: web::Path<KitCheckPath>,
) -> Answer {
    let checked = service::kit_checks::get(&app.context, &path.torch, &path.kit).await?;
    let mut sheet = Sheet::new("check", CHECK, checked.as_of);
    for line in &checked.lines {
        sheet.push(check_row(&checked, line));
    }
    sheet.answer(form.form)
}

const CHECK: [&str; 16] = [
    "torch",
    "kit",
    "state",
    "kits",
    "part",
    "name",
    "quantity",
    "available",
    "missing",
    "stubs",
    "or",
    "borrow_from",
    "next_supplier",
    "next_pieces",
    "next_arrives",
    "held_because",
];

fn check_row(checked: &KitCheck, line: &KitCheckLine) -> [Cell; 16] {
    let or: Vec<&str> = line.or.iter().map(|other| other.part.as_str()).collect();
    let next = line.next.as_ref();
    [
        (&checked.torch).into(),
        (&checked.kit).into(),
        (&checked.state).into(),
        checked.count.into(),
        (&line.part).into(),
        (&line.name).into(),
        line.quantity.into(),
        line.available.into(),
        line.missing.into(),
        (&line.stubs).into(),
        or.join(" ").into(),
        line.borrow_from.join(" ").into(),
        next.map_or(Cell::Nothing, |next| (&next.supplier).into()),
        next.map_or(Cell::Nothing, |next| (next.packs * next.pack_size).into()),
        next.map_or(Cell::Nothing, |next| next.arrives.into()),
        (&line.held_because).into(),
    ]
}

/// Count complete kits of one kind: one row.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(KitPath, GetKitCount, SheetPath), responses(
    SheetAnswer,
    (status = 409, description = "It goes together on no torch, or holds only what the site bars", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/kits/{kit}/count.{form}")]
async fn count_kit_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    path: web::Path<KitPath>,
    query: web::Query<GetKitCount>,
) -> Answer {
    let counted = service::kit_counts::get(&app.context, &path.kit, &query).await?;
    let columns = ["kit", "site", "count", "next_kit_wants", "one_more_of"];
    let mut sheet = Sheet::new("count", columns, counted.as_of);
    sheet.push(count_row(&counted));
    sheet.answer(form.form)
}

fn count_row(counted: &KitCount) -> [Cell; 5] {
    let wants = |piece: &KitPieces| format!("{} {}", piece.quantity, piece.part);
    let wants: Vec<String> = counted.next_kit_wants.iter().map(wants).collect();
    let gains: Vec<&str> = counted
        .one_more
        .iter()
        .map(|gain| gain.part.as_str())
        .collect();
    [
        (&counted.kit).into(),
        (&counted.site).into(),
        counted.count.into(),
        wants.join("; ").into(),
        gains.join(" ").into(),
    ]
}
