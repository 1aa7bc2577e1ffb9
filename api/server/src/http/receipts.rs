//! Receipts.

use actix_web::{post, web};
use types::{KeptAside, NewReceipt, Recorded};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Repeat};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(record_receipt);
}

/// Record goods that came in.
#[utoipa::path(tag = "receipts", security(("key" = ["keep"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewReceipt, responses(
    (status = 201, description = "Recorded", body = Recorded),
    (status = 202, description = "Kept aside: its date is out of bounds", body = KeptAside),
    Body,
    Common,
    Repeat,
))]
#[post("/receipts")]
async fn record_receipt(
    by: Authorized<Keep>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewReceipt>,
) -> Answer {
    Ok(kept(
        service::ledger::record_receipt(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}
