//! Advice on electrodes.

use actix_web::{HttpResponse, get, web};
use types::{ElectrodeAdvice, GetElectrodeAdvice};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_electrode_advice);
}

/// Advise which electrode suits a current: published tables side by side, the shop's own bands
/// before them, and cup, argon, stickout and tip. Always advice, never a block.
#[utoipa::path(tag = "electrodes", security(("key" = ["read"])), params(GetElectrodeAdvice), responses(
    (status = 200, description = "The advice", body = ElectrodeAdvice),
    Common,
    Rules,
))]
#[get("/electrodes/advice")]
async fn get_electrode_advice(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetElectrodeAdvice>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::electrodes::advise(&app.context, &query).await?))
}
