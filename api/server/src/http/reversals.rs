//! Reversals.

use actix_web::{post, web};
use types::{NewReversal, Problem, Recorded};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Log};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Repeat};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(record_reversal);
}

/// Take an entry back. It stays on record; a new entry undoes what it did.
#[utoipa::path(tag = "reversals", security(("key" = ["log"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewReversal, responses(
    (status = 201, description = "Recorded", body = Recorded),
    (status = 409, description = "It was taken back before", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Repeat,
))]
#[post("/reversals")]
async fn record_reversal(
    by: Authorized<Log>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewReversal>,
) -> Answer {
    Ok(kept(
        service::ledger::record_reversal(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}
