//! The sheet of a match of the stock with a procedure.

use actix_web::{get, web};
use types::{GetMatch, MatchRow, ProcedureMatch, ProcedurePath, SheetText};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{Cell, Sheet};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service;

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

/// Tell what of the stock of a site is what a procedure asks for, as CSV: one row a candidate.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(ProcedurePath, GetMatch), responses(
    (status = 200, description = "The sheet", body = SheetText, content_type = "text/csv; charset=utf-8; header=present"),
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/procedures/{procedure}/match.csv")]
async fn get_procedure_match_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<ProcedurePath>,
    query: web::Query<GetMatch>,
) -> Answer {
    let found = service::procedure_matches::get(&app.context, &path.procedure, &query).await?;
    Ok(sheet(&found).answer())
}

fn sheet(found: &ProcedureMatch) -> Sheet<18> {
    let mut sheet = Sheet::new(COLUMNS, found.as_of);
    for row in &found.rows {
        let signed_at = row.signed_at.map(|at| at.to_rfc3339());
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
