//! The track record of forecasts. How its chart is drawn is in `chart`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use types::{CHART_MEDIA_TYPE, ChartImage, GetTrackRecord, TrackRecords};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Rules};
use crate::app::App;
use crate::service;

mod chart;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(get_track_record)
        .service(get_track_record_chart);
}

/// Tell how often forecasts held: the shop's own history is gone through as if each week were still to come,
/// and every forecast is held against what was used then, beside those of simple methods.
#[utoipa::path(tag = "forecasts", security(("key" = ["read"])), params(GetTrackRecord), responses(
    (status = 200, description = "The track records", body = TrackRecords),
    Common,
    Rules,
))]
#[get("/track-record")]
async fn get_track_record(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetTrackRecord>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::track_record::get(&app.context, &query).await?))
}

/// Draw the track record of one part: a bar for the 90 % range of each forecast, a tick for its middle, a dot
/// for what was used, filled within the range and hollow outside. It shows the newest 52 forecasts.
#[utoipa::path(tag = "forecasts", security(("key" = ["read"])), params(GetTrackRecord), responses(
    (status = 200, description = "The chart; where nothing can be told yet, it says why", body = ChartImage, content_type = "image/svg+xml"),
    Common,
    Rules,
))]
#[get("/track-record/chart.svg")]
async fn get_track_record_chart(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetTrackRecord>,
) -> Answer {
    let records = service::track_record::get_one(&app.context, &query).await?;
    Ok(HttpResponse::Ok()
        .content_type(CHART_MEDIA_TYPE)
        // A picture has nothing to fetch and nothing to run.
        .insert_header((header::CONTENT_SECURITY_POLICY, "default-src 'none'"))
        .body(chart::of(&records).into_string()))
}
