//! When a part ran out, and why.

use actix_web::{HttpResponse, get, web};
use types::{GetRunOuts, PartPath, RunOuts};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list_run_outs);
}

/// Tell when a part ran out and why: how the blame is split between use that nobody logged, late deliveries,
/// the forecast, and orders that were not placed.
#[utoipa::path(tag = "stock", security(("key" = ["read"])), params(PartPath, GetRunOuts), responses(
    (status = 200, description = "The run-outs", body = RunOuts),
    Common,
    Missing,
    Rules,
))]
#[get("/stock/{part}/run-outs")]
async fn list_run_outs(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<PartPath>,
    query: web::Query<GetRunOuts>,
) -> Answer {
    let told = service::run_outs::list(&app.context, &path.part, &query).await?;
    Ok(HttpResponse::Ok().json(told))
}
