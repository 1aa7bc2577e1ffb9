//! The stub jar.

use actix_web::{HttpResponse, get, post, web};
use types::{ListStubs, NewStub, Recorded, StubPage};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Log, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Repeat, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list_stubs).service(record_stubs);
}

/// List what is in the stub jar of a site. Stubs are never counted among the full rods.
#[utoipa::path(tag = "stubs", security(("key" = ["read"])), params(ListStubs), responses(
    (status = 200, description = "A page", body = StubPage),
    Common,
    Rules,
))]
#[get("/stubs")]
async fn list_stubs(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListStubs>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::stubs::list(&app.context, &query).await?))
}

/// Record stubs that go into the jar or come out of it without a torch. The stub of a torch is use:
/// send it as usage.
#[utoipa::path(tag = "stubs", security(("key" = ["log"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewStub, responses(
    (status = 201, description = "Recorded", body = Recorded),
    Body,
    Common,
    Repeat,
))]
#[post("/stubs")]
async fn record_stubs(
    by: Authorized<Log>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewStub>,
) -> Answer {
    Ok(kept(
        service::ledger::record_stubs(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}
