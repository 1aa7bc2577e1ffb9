//! Forecasts.

use actix_web::{HttpResponse, get, web};
use types::{Forecasts, ForecastsAhead, GetForecasts, GetForecastsAhead};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_forecasts).service(get_forecasts_ahead);
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

/// Forecast how many of some parts will be used in the days to come, at the pace of the shop's own weeks and
/// with the jobs that are booked; and when to order.
#[utoipa::path(tag = "forecasts", security(("key" = ["read"])), params(GetForecastsAhead), responses(
    (status = 200, description = "The forecasts", body = ForecastsAhead),
    Common,
    Rules,
))]
#[get("/forecasts/ahead")]
async fn get_forecasts_ahead(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetForecastsAhead>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::ahead::get(&app.context, &query).await?))
}
