//! Matches of the stock with a procedure.

use actix_web::{HttpResponse, get, web};
use types::{GetMatch, ProcedureMatch, ProcedurePath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(match_procedure);
}

/// Tell what of the stock of a site is what a procedure asks for, and why the rest is not.
#[utoipa::path(tag = "procedures", security(("key" = ["read"])), params(ProcedurePath, GetMatch), responses(
    (status = 200, description = "What matches", body = ProcedureMatch),
    Common,
    Missing,
    Rules,
))]
#[get("/procedures/{procedure}/match")]
async fn match_procedure(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<ProcedurePath>,
    query: web::Query<GetMatch>,
) -> Answer {
    let found = service::procedure_matches::get(&app.context, &path.procedure, &query).await?;
    Ok(HttpResponse::Ok().json(found))
}
