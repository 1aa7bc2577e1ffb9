//! The ledger: rows, and movements that are no use, receipt or count.

use actix_web::{HttpResponse, get, post, web};
use types::{ListMovements, MovementPage, NewMovement, Problem, Recorded};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::Common;
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list_movements).service(record_movement);
}

/// List the rows of the ledger, newest first.
#[utoipa::path(tag = "movements", security(("key" = ["read"])), params(ListMovements), responses(
    (status = 200, description = "A page", body = MovementPage),
    (status = 422, description = "It breaks a rule", body = Problem, content_type = "application/problem+json"),
    Common,
))]
#[get("/movements")]
async fn list_movements(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListMovements>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::ledger::list_movements(&app.context, &query).await?))
}

/// Record a movement: issue, return, scrap, adjustment, hold or release.
#[utoipa::path(tag = "movements", security(("key" = ["keep"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewMovement, responses(
    (status = 201, description = "Recorded", body = Recorded),
    (status = 413, description = "The body is too large", body = Problem, content_type = "application/problem+json"),
    (status = 415, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "It breaks a rule, or the idempotency key was used for another request", body = Problem, content_type = "application/problem+json"),
    (status = 428, description = "Idempotency-Key is missing", body = Problem, content_type = "application/problem+json"),
    Common,
))]
#[post("/movements")]
async fn record_movement(
    by: Authorized<Keep>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewMovement>,
) -> Answer {
    Ok(kept(
        service::ledger::record_movement(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}
