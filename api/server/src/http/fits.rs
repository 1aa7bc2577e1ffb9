//! Fits: parts tried or fitted on a torch, and what torches lend to each other.

use actix_web::{HttpResponse, get, post, web};
use types::{BorrowingPage, FitCheck, FitQuery, ListBorrowings, NewFit, TorchPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Log, Read};
use super::error::Answer;
use super::problems::{Body, Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(create_fit).service(list_borrowings);
}

/// Fit parts on a torch, or try whether they fit. With `try=1` nothing changes, and the answer tells
/// every way out of a misfit. Without it, parts that do not go together at their seats, or that the
/// site does not permit, are refused. Fitting takes nothing from stock: log what was taken.
#[utoipa::path(tag = "torches", security(("key" = ["log"])), params(TorchPath, FitQuery), request_body = NewFit, responses(
    (status = 200, description = "Whether they fit, or that they are fitted", body = FitCheck),
    Body,
    Common,
    Missing,
    Rules,
))]
#[post("/torches/{torch}/fit")]
async fn create_fit(
    _: Authorized<Log>,
    app: web::Data<App>,
    path: web::Path<TorchPath>,
    query: web::Query<FitQuery>,
    new: web::Json<NewFit>,
) -> Answer {
    let (context, new) = (&app.context, new.into_inner());
    let told = if query.try_only.unwrap_or(0) > 0 {
        service::fits::check(context, &path.torch, new).await?
    } else {
        service::fits::create(context, &path.torch, new).await?
    };
    Ok(HttpResponse::Ok().json(told))
}

/// List what torches lent to each other.
#[utoipa::path(tag = "torches", security(("key" = ["read"])), params(ListBorrowings), responses(
    (status = 200, description = "A page of borrowings", body = BorrowingPage),
    Common,
))]
#[get("/borrowings")]
async fn list_borrowings(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListBorrowings>,
) -> Answer {
    let page = service::fits::borrowings::list(&app.context, &query).await?;
    Ok(HttpResponse::Ok().json(page))
}
