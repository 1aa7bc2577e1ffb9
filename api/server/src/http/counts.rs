//! Counts.

use actix_web::{HttpResponse, get, post, web};
use types::{CountPage, Counted, ListCounts, NewCount, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Log, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::Common;
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list_counts).service(record_count);
}

/// List the counts, newest first.
#[utoipa::path(tag = "counts", security(("key" = ["read"])), params(ListCounts), responses(
    (status = 200, description = "A page", body = CountPage),
    (status = 422, description = "It breaks a rule", body = Problem, content_type = "application/problem+json"),
    Common,
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
    (status = 413, description = "The body is too large", body = Problem, content_type = "application/problem+json"),
    (status = 415, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "It breaks a rule, or the idempotency key was used for another request", body = Problem, content_type = "application/problem+json"),
    (status = 428, description = "Idempotency-Key is missing", body = Problem, content_type = "application/problem+json"),
    Common,
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
