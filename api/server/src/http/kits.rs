//! Kits.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{Kit, KitPage, KitPath, NewKit, Page, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_kits)
        .service(create_kit)
        .service(get_kit)
        .service(replace_kit)
        .service(delete_kit);
}

/// List kits.
#[utoipa::path(tag = "kits", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of kits", body = KitPage),
    Common,
))]
#[get("/kits")]
async fn list_kits(_: Authorized<Read>, app: web::Data<App>, page: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::kits::list(&app.context, &page).await?))
}

/// Set up a kit.
#[utoipa::path(tag = "kits", security(("key" = ["keep"])), request_body = NewKit, responses(
    (status = 201, description = "Set up", body = Kit, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/kits")]
async fn create_kit(_: Authorized<Keep>, app: web::Data<App>, new: web::Json<NewKit>) -> Answer {
    let made = service::kits::create(&app.context, new.into_inner()).await?;
    Ok(created(
        &format!("/v1/kits/{}", made.code),
        made.version,
        &made,
    ))
}

/// Read a kit.
#[utoipa::path(tag = "kits", security(("key" = ["read"])), params(KitPath), responses(
    (status = 200, description = "The kit", body = Kit, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/kits/{kit}")]
async fn get_kit(_: Authorized<Read>, app: web::Data<App>, path: web::Path<KitPath>) -> Answer {
    let found = service::kits::get(&app.context, &path.kit).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a kit.
#[utoipa::path(tag = "kits", security(("key" = ["keep"])), params(KitPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewKit, responses(
    (status = 200, description = "Replaced", body = Kit, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/kits/{kit}")]
async fn replace_kit(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<KitPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewKit>,
) -> Answer {
    let replaced = service::kits::replace(&app.context, &path.kit, seen, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a kit. Answers 409 while something refers to it.
#[utoipa::path(tag = "kits", security(("key" = ["keep"])), params(KitPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    (status = 409, description = "In use", body = Problem, content_type = "application/problem+json"),
    Common,
    Edit,
    Missing,
))]
#[delete("/kits/{kit}")]
async fn delete_kit(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<KitPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::kits::delete(&app.context, &path.kit, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}
