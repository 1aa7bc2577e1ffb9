//! Lulls: days on which a site does less work than usual, or more.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{ListLulls, Lull, LullPage, LullPath, NewLull, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_lulls)
        .service(create_lull)
        .service(get_lull)
        .service(replace_lull)
        .service(delete_lull);
}

/// List the lulls of a site, by their first day.
#[utoipa::path(tag = "sites", security(("key" = ["read"])), params(ListLulls), responses(
    (status = 200, description = "A page of lulls", body = LullPage),
    Common,
    Rules,
))]
#[get("/lulls")]
async fn list_lulls(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListLulls>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::lulls::list(&app.context, &query).await?))
}

/// Set a lull: days on which a site is shut, or does less work than usual, or more.
#[utoipa::path(tag = "sites", security(("key" = ["keep"])), request_body = NewLull, responses(
    (status = 201, description = "Set", body = Lull, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The site has another lull on one of these days", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/lulls")]
async fn create_lull(_: Authorized<Keep>, app: web::Data<App>, new: web::Json<NewLull>) -> Answer {
    let made = service::lulls::create(&app.context, new.into_inner()).await?;
    let place = format!("/v1/lulls/{}", made.id);
    Ok(created(&place, made.version, &made))
}

/// Read a lull.
#[utoipa::path(tag = "sites", security(("key" = ["read"])), params(LullPath), responses(
    (status = 200, description = "The lull", body = Lull, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/lulls/{lull}")]
async fn get_lull(_: Authorized<Read>, app: web::Data<App>, path: web::Path<LullPath>) -> Answer {
    let found = service::lulls::get(&app.context, &path.lull).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a lull.
#[utoipa::path(tag = "sites", security(("key" = ["keep"])), params(LullPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewLull, responses(
    (status = 200, description = "Replaced", body = Lull, headers(("ETag" = String))),
    (status = 409, description = "The site has another lull on one of these days", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/lulls/{lull}")]
async fn replace_lull(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<LullPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewLull>,
) -> Answer {
    let (lull, new) = (&path.lull, new.into_inner());
    let replaced = service::lulls::replace(&app.context, lull, seen, new).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a lull; its days are as usual again.
#[utoipa::path(tag = "sites", security(("key" = ["keep"])), params(LullPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    Common,
    Edit,
    Missing,
))]
#[delete("/lulls/{lull}")]
async fn delete_lull(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<LullPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::lulls::delete(&app.context, &path.lull, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}
