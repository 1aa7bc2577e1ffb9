//! Lots: tracing one, and holding what is left of it.

use actix_web::{HttpResponse, get, post, web};
use domain::ledger::MovementKind;
use types::{GetTrace, LotHold, LotPath, NewLotHold, Trace};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Missing, Repeat, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(trace_lot)
        .service(hold_lot)
        .service(release_lot);
}

/// Trace a lot: where its pieces went and where the rest is. The lines and the gap add up to what was
/// received.
#[utoipa::path(tag = "lots", security(("key" = ["read"])), params(LotPath, GetTrace), responses(
    (status = 200, description = "The trace", body = Trace),
    Common,
    Missing,
    Rules,
))]
#[get("/lots/{lot}/trace")]
async fn trace_lot(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<LotPath>,
    query: web::Query<GetTrace>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::lots::trace(&app.context, &path.lot, &query).await?))
}

/// Put what is left of a lot on hold, at every site. What is on hold already stays so.
#[utoipa::path(tag = "lots", security(("key" = ["keep"])), params(LotPath, ("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewLotHold, responses(
    (status = 200, description = "On hold", body = LotHold),
    Body,
    Common,
    Missing,
    Repeat,
))]
#[post("/lots/{lot}/hold")]
async fn hold_lot(
    by: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<LotPath>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewLotHold>,
) -> Answer {
    let asked = (by.caller, key.as_str());
    let what = (MovementKind::Hold, new.into_inner());
    Ok(kept(
        service::lots::hold(&app.context, asked, &path.lot, what).await?,
    ))
}

/// Free what is on hold of a lot, at every site.
#[utoipa::path(tag = "lots", security(("key" = ["keep"])), params(LotPath, ("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewLotHold, responses(
    (status = 200, description = "Released", body = LotHold),
    Body,
    Common,
    Missing,
    Repeat,
))]
#[post("/lots/{lot}/release")]
async fn release_lot(
    by: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<LotPath>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewLotHold>,
) -> Answer {
    let asked = (by.caller, key.as_str());
    let what = (MovementKind::Release, new.into_inner());
    Ok(kept(
        service::lots::hold(&app.context, asked, &path.lot, what).await?,
    ))
}
