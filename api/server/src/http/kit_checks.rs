//! Kit checks.

use actix_web::{HttpResponse, get, web};
use types::{KitCheck, KitCheckPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Missing};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(check_kit);
}

/// Check whether the stock of a torch's site makes a kit for it: complete, or what is missing.
#[utoipa::path(tag = "torches", security(("key" = ["read"])), params(KitCheckPath), responses(
    (status = 200, description = "What there is for it", body = KitCheck),
    Common,
    Missing,
))]
#[get("/torches/{torch}/kits/{kit}")]
async fn check_kit(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<KitCheckPath>,
) -> Answer {
    let checked = service::kit_checks::get(&app.context, &path.torch, &path.kit).await?;
    Ok(HttpResponse::Ok().json(checked))
}
