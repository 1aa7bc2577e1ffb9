//! The end of jobs and courses.

use actix_web::{HttpResponse, get, post, web};
use types::{Closing, CoursePath, JobPath, NewClosing, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Missing, Repeat};
use crate::app::App;
use crate::service::needs::{self, Kind};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(close_job)
        .service(get_job_closing)
        .service(reopen_job)
        .service(close_course)
        .service(get_course_closing)
        .service(reopen_course);
}

/// Close a job: log what it really took as far as it is not logged yet, free what it was promised, and
/// tell how far the plan was off.
#[utoipa::path(tag = "jobs", security(("key" = ["keep"])), params(JobPath, ("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewClosing, responses(
    (status = 201, description = "Closed", body = Closing),
    (status = 409, description = "Closed before, or no part of it counts", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
    Repeat,
))]
#[post("/jobs/{job}/closing")]
async fn close_job(
    by: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<JobPath>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewClosing>,
) -> Answer {
    let which = (Kind::Job, &*path.job);
    let new = new.into_inner();
    Ok(kept(
        needs::close(&app.context, (by.caller, &key), which, new).await?,
    ))
}

/// Tell how a job ended, beside what was expected of it.
#[utoipa::path(tag = "jobs", security(("key" = ["read"])), params(JobPath), responses(
    (status = 200, description = "How it ended", body = Closing),
    (status = 409, description = "Not closed", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
))]
#[get("/jobs/{job}/closing")]
async fn get_job_closing(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<JobPath>,
) -> Answer {
    let told = needs::get_closing(&app.context, (Kind::Job, &path.job)).await?;
    Ok(HttpResponse::Ok().json(told))
}

/// Open a job again. What its closing logged stays on record, and can be taken back entry by entry.
#[utoipa::path(tag = "jobs", security(("key" = ["keep"])), params(JobPath), responses(
    (status = 204, description = "Open again"),
    (status = 409, description = "Not closed", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
))]
#[post("/jobs/{job}/reopen")]
async fn reopen_job(_: Authorized<Keep>, app: web::Data<App>, path: web::Path<JobPath>) -> Answer {
    needs::reopen(&app.context, (Kind::Job, &path.job)).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Close a course: log what it really used as far as it is not logged yet, and tell how far the plan was
/// off. Its use is learned from for courses, and never for the shop's own work.
#[utoipa::path(tag = "courses", security(("key" = ["keep"])), params(CoursePath, ("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewClosing, responses(
    (status = 201, description = "Closed", body = Closing),
    (status = 409, description = "Closed before, or no part of it counts", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
    Repeat,
))]
#[post("/courses/{course}/closing")]
async fn close_course(
    by: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewClosing>,
) -> Answer {
    let which = (Kind::Course, &*path.course);
    let new = new.into_inner();
    Ok(kept(
        needs::close(&app.context, (by.caller, &key), which, new).await?,
    ))
}

/// Tell how a course ended, beside what was expected of it.
#[utoipa::path(tag = "courses", security(("key" = ["read"])), params(CoursePath), responses(
    (status = 200, description = "How it ended", body = Closing),
    (status = 409, description = "Not closed", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
))]
#[get("/courses/{course}/closing")]
async fn get_course_closing(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
) -> Answer {
    let told = needs::get_closing(&app.context, (Kind::Course, &path.course)).await?;
    Ok(HttpResponse::Ok().json(told))
}

/// Open a course again. What its closing logged stays on record, and can be taken back entry by entry.
#[utoipa::path(tag = "courses", security(("key" = ["keep"])), params(CoursePath), responses(
    (status = 204, description = "Open again"),
    (status = 409, description = "Not closed", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
))]
#[post("/courses/{course}/reopen")]
async fn reopen_course(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
) -> Answer {
    needs::reopen(&app.context, (Kind::Course, &path.course)).await?;
    Ok(HttpResponse::NoContent().finish())
}
