//! The sheet of a fit that is tried.

use actix_web::{get, web};
use types::{FitCheck, NewFit, SheetPath, TorchPath, TryFit};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{Answered, Cell, Sheet, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service;

const COLUMNS: [&str; 9] = [
    "torch",
    "state",
    "row",
    "seat",
    "parts",
    "on",
    "available",
    "says",
    "in_stock",
];

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(try_fit_sheet);
}

/// Try parts on a torch: one row a fault, and one a part of each way out. Nothing is fitted.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(TorchPath, TryFit, SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/torches/{torch}/fit.{form}")]
async fn try_fit_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    path: web::Path<TorchPath>,
    query: web::Query<TryFit>,
) -> Answer {
    let told = service::fits::check(&app.context, &path.torch, NewFit::from(&*query)).await?;
    sheet(&told).answer(form.form)
}

fn sheet(told: &FitCheck) -> Sheet<9> {
    let mut sheet = Sheet::new("fit", COLUMNS, told.as_of);
    for fault in &told.faults {
        sheet.push([
            (&told.torch).into(),
            (&told.state).into(),
            (&fault.what).into(),
            (&fault.offered).into(),
            fault.parts.join(" ").into(),
            (&fault.on).into(),
            Cell::Nothing,
            (&fault.says).into(),
            Cell::Nothing,
        ]);
    }
    for (number, way) in told.ways.iter().enumerate() {
        for choice in &way.choices {
            for part in &choice.parts {
                sheet.push([
                    (&told.torch).into(),
                    (&told.state).into(),
                    format!("way {}", number + 1).into(),
                    (&choice.seat).into(),
                    (&part.part).into(),
                    Cell::Nothing,
                    part.available.into(),
                    (&way.says).into(),
                    if way.in_stock { "yes" } else { "no" }.into(),
                ]);
            }
        }
    }
    sheet
}
