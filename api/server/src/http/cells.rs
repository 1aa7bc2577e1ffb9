//! One figure as plain text, for the formula of one cell.

use actix_web::http::header::ContentType;
use actix_web::{HttpResponse, get, web};
use types::{CellPath, CellText, GetCell, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_cell);
}

/// Tell one figure of a part, a job or a course as text and nothing else, for the formula of a spreadsheet:
/// `=VALUE(WEBSERVICE("http://127.0.0.1:8710/v1/cell/available?part=WLa20-2.4&key=..."))`. Decimals have a full stop.
///
/// A spreadsheet can send no header, so a key of the role *read* may stand in the address; see the security of the
/// sheets.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(CellPath, GetCell), responses(
    (status = 200, description = "The figure", body = CellText, content_type = "text/plain; charset=utf-8"),
    (status = 409, description = "It has no such figure now", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Rules,
))]
#[get("/cell/{figure}")]
async fn get_cell(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<CellPath>,
    query: web::Query<GetCell>,
) -> Answer {
    let text = service::cells::get(&app.context, path.figure, &query).await?;
    Ok(HttpResponse::Ok()
        .content_type(ContentType::plaintext())
        .body(text))
}
