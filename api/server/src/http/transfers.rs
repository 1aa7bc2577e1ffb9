//! Transfers between sites.

use actix_web::{post, web};
use types::{NewTransfer, Recorded};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Repeat};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(record_transfer);
}

/// Move pieces to another site. Refused if they are not there to be moved, or if the other site does
/// not permit the part; then nothing moves.
#[utoipa::path(tag = "transfers", security(("key" = ["keep"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewTransfer, responses(
    (status = 201, description = "Recorded", body = Recorded),
    Body,
    Common,
    Repeat,
))]
#[post("/transfers")]
async fn record_transfer(
    by: Authorized<Keep>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewTransfer>,
) -> Answer {
    Ok(kept(
        service::ledger::record_transfer(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}
