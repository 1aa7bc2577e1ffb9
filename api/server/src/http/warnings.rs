//! Warnings, and what people answer to them.

use actix_web::{HttpResponse, get, post, web};
use types::{
    GetWarningSelfCheck, ListWarnings, NewAcknowledgement, NewQuiet, NewWarningCount, Problem,
    Warning, WarningCounted, WarningPage, WarningPath, WarningSelfCheck,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Log, Read};
use super::error::Answer;
use super::extract::IdempotencyKey;
use super::problems::{Body, Common, Missing, Repeat, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_warnings)
        .service(get_warning_self_check)
        .service(get_warning)
        .service(quiet_warning)
        .service(acknowledge_warning)
        .service(count_for_warning);
}

/// List the warnings that stand, newest first; with `state`, those that are closed, or all.
#[utoipa::path(tag = "warnings", security(("key" = ["read"])), params(ListWarnings), responses(
    (status = 200, description = "A page", body = WarningPage),
    Common,
    Rules,
))]
#[get("/warnings")]
async fn list_warnings(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListWarnings>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::warnings::list(&app.context, &query).await?))
}

/// Read how many of the warnings of the last weeks were acted on. Where that is fewer than half, higher
/// limits are proposed.
#[utoipa::path(tag = "warnings", security(("key" = ["read"])), params(GetWarningSelfCheck), responses(
    (status = 200, description = "The share", body = WarningSelfCheck),
    Common,
    Rules,
))]
#[get("/warnings/self-check")]
async fn get_warning_self_check(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetWarningSelfCheck>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::warnings::get_self_check(&app.context, &query).await?))
}

/// Read a warning, with what was told in it.
#[utoipa::path(tag = "warnings", security(("key" = ["read"])), params(WarningPath), responses(
    (status = 200, description = "The warning", body = Warning),
    Common,
    Missing,
))]
#[get("/warnings/{warning}")]
async fn get_warning(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<WarningPath>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::warnings::get(&app.context, &path.warning).await?))
}

/// Silence a warning until an instant, tomorrow or Monday, or until less is on hand. It always ends, and
/// what is about safety or proof cannot be silenced.
#[utoipa::path(tag = "warnings", security(("key" = ["keep"])), params(WarningPath), request_body = NewQuiet, responses(
    (status = 200, description = "Silent", body = Warning),
    (status = 409, description = "It is closed, or cannot be silenced", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
    Rules,
))]
#[post("/warnings/{warning}/quiet")]
async fn quiet_warning(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<WarningPath>,
    new: web::Json<NewQuiet>,
) -> Answer {
    let (warning, new) = (&path.warning, new.into_inner());
    Ok(HttpResponse::Ok().json(service::warnings::quiet(&app.context, warning, new).await?))
}

/// Say that a warning was seen. One about safety or proof is over then.
#[utoipa::path(tag = "warnings", security(("key" = ["keep"])), params(WarningPath), request_body = NewAcknowledgement, responses(
    (status = 200, description = "Seen", body = Warning),
    Body,
    Common,
    Missing,
    Rules,
))]
#[post("/warnings/{warning}/acknowledgement")]
async fn acknowledge_warning(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<WarningPath>,
    new: web::Json<NewAcknowledgement>,
) -> Answer {
    let (warning, new) = (&path.warning, new.into_inner());
    Ok(HttpResponse::Ok().json(service::warnings::acknowledge(&app.context, warning, new).await?))
}

/// Answer a wrong warning: count its part. The warning is looked at at once.
#[utoipa::path(tag = "warnings", security(("key" = ["log"])), params(WarningPath, ("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewWarningCount, responses(
    (status = 200, description = "Counted", body = WarningCounted),
    (status = 409, description = "It is not about one part", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
    Repeat,
))]
#[post("/warnings/{warning}/count")]
async fn count_for_warning(
    by: Authorized<Log>,
    app: web::Data<App>,
    path: web::Path<WarningPath>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewWarningCount>,
) -> Answer {
    let (warning, new) = (&path.warning, new.into_inner());
    let asked = (by.caller, key.as_str());
    Ok(HttpResponse::Ok().json(service::warnings::count(&app.context, asked, warning, new).await?))
}
