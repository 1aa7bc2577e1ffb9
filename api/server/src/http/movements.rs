//! The ledger: rows, and movements that are no use, receipt or count.

use actix_web::{HttpResponse, get, post, web};
use types::{KeptAside, ListMovements, MovementPage, NewMovement, Recorded};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Repeat, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list_movements).service(record_movement);
}

/// List the rows of the ledger, newest first.
#[utoipa::path(tag = "movements", security(("key" = ["read"])), params(ListMovements), responses(
    (status = 200, description = "A page", body = MovementPage),
    Common,
    Rules,
))]
#[get("/movements")]
async fn list_movements(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListMovements>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::ledger::list_movements(&app.context, &query).await?))
}

/// Record a movement: issue, return, scrap, supplier-return, adjustment, hold or release. An issue of
/// what the site bars is refused.
#[utoipa::path(tag = "movements", security(("key" = ["keep"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewMovement, responses(
    (status = 201, description = "Recorded", body = Recorded),
    (status = 202, description = "Kept aside: its date is out of bounds", body = KeptAside),
    Body,
    Common,
    Repeat,
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
