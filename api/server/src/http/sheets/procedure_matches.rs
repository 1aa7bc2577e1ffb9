//! The sheet of a match of the stock with a procedure.

use actix_web::{get, web};
use types::{GetMatch, MatchRow, ProcedureMatch, ProcedurePath, SheetPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{Answered, Cell, Sheet, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service;
use crate::service::instant::Zones;

const COLUMNS: [&str; 18] = [
    "procedure",
    "revision",
    "site",
    "state",
    "part",
    "name",
    "kind",
    "stub",
    "marking",
    "quantity",
    "unit",
    "available",
    "usable",
    "lots",
    "verdict",
    "reason",
    "equivalence",
    "signed_at",
];

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_procedure_match_sheet);
}

/// Tell what of the stock of a site is what a procedure asks for: one row a candidate.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(ProcedurePath, GetMatch, SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/procedures/{procedure}/match.{form}")]
async fn get_procedure_match_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    path: web::Path<ProcedurePath>,
    query: web::Query<GetMatch>,
) -> Answer {
    let found = service::procedure_matches::get(&app.context, &path.procedure, &query).await?;
    let zones = service::sites::zones(&app.context, None).await?;
    sheet(&found, &zones).answer(form.form)
}

fn sheet(found: &ProcedureMatch, zones: &Zones) -> Sheet<18> {
    let mut sheet = Sheet::new("match", COLUMNS, found.as_of);
    for row in &found.rows {
        let signed_at = row.signed_at.map(|at| zones.at(&found.site, &at));
        sheet.push([
            (&found.procedure).into(),
            found.revision.into(),
            (&found.site).into(),
            (&found.state).into(),
            (&row.part).into(),
            (&row.name).into(),
            (&row.kind).into(),
            if row.stub { "yes" } else { "no" }.into(),
            (&row.marking).into(),
            row.quantity.into(),
            (&row.unit).into(),
            row.available.into(),
            row.usable.into(),
            lots(row),
            (&row.verdict).into(),
            (&row.reason).into(),
            (&row.equivalence).into(),
            (&signed_at).into(),
        ]);
    }
    sheet
}

/// `L-2231 (9); L-2240 (1)`.
fn lots(row: &MatchRow) -> Cell {
    let lots = row.lots.iter();
    let lots: Vec<String> = lots
        .map(|it| format!("{} ({})", it.lot, it.quantity))
        .collect();
    if lots.is_empty() {
        Cell::Nothing
    } else {
        Cell::Text(lots.join("; "))
    }
}
