//! Counts.

use actix_web::{HttpResponse, get, post, web};
use types::{CountPage, Counted, KeptAside, ListCounts, NewCount};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Log, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Repeat, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list_counts).service(record_count);
}

/// List the counts, newest first.
#[utoipa::path(tag = "counts", security(("key" = ["read"])), params(ListCounts), responses(
    (status = 200, description = "A page", body = CountPage),
    Common,
    Rules,
))]
#[get("/counts")]
async fn list_counts(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListCounts>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::ledger::list_counts(&app.context, &query).await?))
}

/// Record a count. On hand becomes what was counted and what moved after it.
#[utoipa::path(tag = "counts", security(("key" = ["log"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewCount, responses(
    (status = 201, description = "Recorded", body = Counted),
    (status = 202, description = "Kept aside: its date is out of bounds", body = KeptAside),
    Body,
    Common,
    Repeat,
))]
#[post("/counts")]
async fn record_count(
    by: Authorized<Log>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewCount>,
) -> Answer {
    Ok(kept(
        service::ledger::record_count(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}
