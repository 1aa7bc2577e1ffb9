//! Torches and their set-ups.

use actix_web::{HttpResponse, get, post, put, web};
use types::{NewSetUp, NewTorch, Page, Problem, SetUp, Torch, TorchPage, TorchPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_torches)
        .service(create_torch)
        .service(get_torch)
        .service(replace_torch)
        .service(get_set_up)
        .service(replace_set_up);
}

/// List torches.
#[utoipa::path(tag = "torches", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of torches", body = TorchPage),
    Common,
))]
#[get("/torches")]
async fn list_torches(_: Authorized<Read>, app: web::Data<App>, page: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::torches::list(&app.context, &page).await?))
}

/// Set up a torch.
#[utoipa::path(tag = "torches", security(("key" = ["keep"])), request_body = NewTorch, responses(
    (status = 201, description = "Set up", body = Torch, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/torches")]
async fn create_torch(
    _: Authorized<Keep>,
    app: web::Data<App>,
    new: web::Json<NewTorch>,
) -> Answer {
    let made = service::torches::create(&app.context, new.into_inner()).await?;
    Ok(created(
        &format!("/v1/torches/{}", made.code),
        made.version,
        &made,
    ))
}

/// Read a torch.
#[utoipa::path(tag = "torches", security(("key" = ["read"])), params(TorchPath), responses(
    (status = 200, description = "The torch", body = Torch, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/torches/{torch}")]
async fn get_torch(_: Authorized<Read>, app: web::Data<App>, path: web::Path<TorchPath>) -> Answer {
    let found = service::torches::get(&app.context, &path.torch).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a torch.
#[utoipa::path(tag = "torches", security(("key" = ["keep"])), params(TorchPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewTorch, responses(
    (status = 200, description = "Replaced", body = Torch, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/torches/{torch}")]
async fn replace_torch(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<TorchPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewTorch>,
) -> Answer {
    let replaced =
        service::torches::replace(&app.context, &path.torch, seen, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Read what is fitted in a torch.
#[utoipa::path(tag = "torches", security(("key" = ["read"])), params(TorchPath), responses(
    (status = 200, description = "What is fitted", body = SetUp, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/torches/{torch}/set-up")]
async fn get_set_up(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<TorchPath>,
) -> Answer {
    let found = service::torches::get_set_up(&app.context, &path.torch).await?;
    Ok(tagged(found.version, &found))
}

/// Fit parts in a torch from now on. What is logged on the torch wears these parts.
#[utoipa::path(tag = "torches", security(("key" = ["keep"])), params(TorchPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewSetUp, responses(
    (status = 200, description = "Fitted", body = SetUp, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/torches/{torch}/set-up")]
async fn replace_set_up(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<TorchPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewSetUp>,
) -> Answer {
    let fitted =
        service::torches::replace_set_up(&app.context, &path.torch, seen, new.into_inner()).await?;
    Ok(tagged(fitted.version, &fitted))
}
