//! Forecasts.

use actix_web::{HttpResponse, get, web};
use types::{Forecasts, GetForecasts};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;

use super::problems::{Common, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_forecasts);
}

/// Forecast how many of some parts will be used, what to keep, and when they run out.
#[utoipa::path(tag = "forecasts", security(("key" = ["read"])), params(GetForecasts), responses(
    (status = 200, description = "The forecasts", body = Forecasts),
    Common,
    Rules,
))]
#[get("/forecasts")]
async fn get_forecasts(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetForecasts>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::forecasts::get(&app.context, &query).await?))
}
