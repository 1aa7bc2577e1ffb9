//! Jobs, what they need, and the orders that follow.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{
    DraftOrders, DraftedOrders, GetNeeds, Job, JobPage, JobPath, Needs, NewJob, Page, Problem,
    SetUpJob,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, IfMatch, created, kept, tagged};
use super::problems::{Body, Common, Edit, Missing, Repeat, Rules};
use crate::app::App;
use crate::service;
use crate::service::needs::Kind;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_jobs)
        .service(create_job)
        .service(get_job)
        .service(replace_job)
        .service(delete_job)
        .service(get_job_needs)
        .service(draft_job_orders);
}

/// List jobs.
#[utoipa::path(tag = "jobs", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of jobs", body = JobPage),
    Common,
))]
#[get("/jobs")]
async fn list_jobs(_: Authorized<Read>, app: web::Data<App>, page: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::jobs::list(&app.context, &page).await?))
}

/// Set up a job. A start that is past is refused unless it is told that the job has begun.
#[utoipa::path(tag = "jobs", security(("key" = ["keep"])), params(SetUpJob), request_body = NewJob, responses(
    (status = 201, description = "Set up", body = Job, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/jobs")]
async fn create_job(
    _: Authorized<Keep>,
    app: web::Data<App>,
    how: web::Query<SetUpJob>,
    new: web::Json<NewJob>,
) -> Answer {
    let made = service::jobs::create(&app.context, new.into_inner(), &how).await?;
    Ok(created(
        &format!("/v1/jobs/{}", made.code),
        made.version,
        &made,
    ))
}

/// Read a job.
#[utoipa::path(tag = "jobs", security(("key" = ["read"])), params(JobPath), responses(
    (status = 200, description = "The job", body = Job, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/jobs/{job}")]
async fn get_job(_: Authorized<Read>, app: web::Data<App>, path: web::Path<JobPath>) -> Answer {
    let found = service::jobs::get(&app.context, &path.job).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a job. Its start stays, or is moved to a day that is still to come.
#[utoipa::path(tag = "jobs", security(("key" = ["keep"])), params(JobPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewJob, responses(
    (status = 200, description = "Replaced", body = Job, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/jobs/{job}")]
async fn replace_job(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<JobPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewJob>,
) -> Answer {
    let replaced = service::jobs::replace(&app.context, &path.job, seen, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a job. Answers 409 while something refers to it.
#[utoipa::path(tag = "jobs", security(("key" = ["keep"])), params(JobPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    (status = 409, description = "In use", body = Problem, content_type = "application/problem+json"),
    Common,
    Edit,
    Missing,
))]
#[delete("/jobs/{job}")]
async fn delete_job(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<JobPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::jobs::delete(&app.context, &path.job, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Tell what a job needs: will it run without a stop, and if not, which order fixes it, and by when?
#[utoipa::path(tag = "jobs", security(("key" = ["read"])), params(JobPath, GetNeeds), responses(
    (status = 200, description = "What it needs", body = Needs),
    (status = 409, description = "No part of it counts", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Rules,
))]
#[get("/jobs/{job}/needs")]
async fn get_job_needs(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<JobPath>,
    query: web::Query<GetNeeds>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::needs::get(&app.context, &path.job, &query).await?))
}

/// Draft what a job is short of, one order a supplier. Earlier drafts for the job are cancelled.
#[utoipa::path(tag = "jobs", security(("key" = ["keep"])), params(JobPath, DraftOrders, ("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), responses(
    (status = 201, description = "Drafted", body = DraftedOrders),
    (status = 409, description = "No part of it counts", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Repeat,
))]
#[post("/jobs/{job}/orders")]
async fn draft_job_orders(
    by: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<JobPath>,
    query: web::Query<DraftOrders>,
    IdempotencyKey(key): IdempotencyKey,
) -> Answer {
    let (by, which) = ((by.caller, &*key), (Kind::Job, &*path.job));
    Ok(kept(
        service::orders::draft_for_work(&app.context, by, which, &query).await?,
    ))
}
