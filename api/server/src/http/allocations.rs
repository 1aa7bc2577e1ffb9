//! Allocations: pieces promised to jobs.

use actix_web::{HttpResponse, get, post, web};
use types::{Allocated, AllocationPage, ListAllocations, NewAllocation};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Repeat, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list_allocations).service(record_allocation);
}

/// List what jobs are promised and did not get yet.
#[utoipa::path(tag = "allocations", security(("key" = ["read"])), params(ListAllocations), responses(
    (status = 200, description = "A page", body = AllocationPage),
    Common,
    Rules,
))]
#[get("/allocations")]
async fn list_allocations(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListAllocations>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::allocations::list(&app.context, &query).await?))
}

/// Promise pieces to a job, so that they are available to no other. The number is what the job is
/// promised in all; what is issued for the job comes off it.
#[utoipa::path(tag = "allocations", security(("key" = ["keep"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewAllocation, responses(
    (status = 201, description = "Recorded", body = Allocated),
    Body,
    Common,
    Repeat,
))]
#[post("/allocations")]
async fn record_allocation(
    by: Authorized<Keep>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewAllocation>,
) -> Answer {
    Ok(kept(
        service::ledger::record_allocation(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}
