//! The cautions as data.

use actix_web::{HttpResponse, get};
use types::CautionList;
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::Common;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list_cautions);
}

/// List every caution with its text and where it is shown. The answers that it belongs to carry it
/// already.
#[utoipa::path(tag = "cautions", security(("key" = ["read"])), responses(
    (status = 200, description = "The cautions", body = CautionList),
    Common,
))]
#[get("/cautions")]
async fn list_cautions(_: Authorized<Read>) -> Answer {
    Ok(HttpResponse::Ok().json(service::cautions::list()))
}
