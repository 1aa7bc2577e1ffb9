//! Parts.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{NewPart, Page, Part, PartPage, PartPath, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_parts)
        .service(create_part)
        .service(get_part)
        .service(replace_part)
        .service(delete_part);
}

/// List parts.
#[utoipa::path(tag = "parts", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of parts", body = PartPage),
    Common,
))]
#[get("/parts")]
async fn list_parts(_: Authorized<Read>, app: web::Data<App>, page: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::parts::list(&app.context, &page).await?))
}

/// Set up a part.
#[utoipa::path(tag = "parts", security(("key" = ["keep"])), request_body = NewPart, responses(
    (status = 201, description = "Set up", body = Part, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/parts")]
async fn create_part(_: Authorized<Keep>, app: web::Data<App>, new: web::Json<NewPart>) -> Answer {
    let made = service::parts::create(&app.context, new.into_inner()).await?;
    Ok(created(
        &format!("/v1/parts/{}", made.code),
        made.version,
        &made,
    ))
}

/// Read a part.
#[utoipa::path(tag = "parts", security(("key" = ["read"])), params(PartPath), responses(
    (status = 200, description = "The part", body = Part, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/parts/{part}")]
async fn get_part(_: Authorized<Read>, app: web::Data<App>, path: web::Path<PartPath>) -> Answer {
    let found = service::parts::get(&app.context, &path.part).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a part.
#[utoipa::path(tag = "parts", security(("key" = ["keep"])), params(PartPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewPart, responses(
    (status = 200, description = "Replaced", body = Part, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/parts/{part}")]
async fn replace_part(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<PartPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewPart>,
) -> Answer {
    let replaced =
        service::parts::replace(&app.context, &path.part, seen, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a part. Answers 409 while something refers to it.
#[utoipa::path(tag = "parts", security(("key" = ["keep"])), params(PartPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    (status = 409, description = "In use", body = Problem, content_type = "application/problem+json"),
    Common,
    Edit,
    Missing,
))]
#[delete("/parts/{part}")]
async fn delete_part(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<PartPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::parts::delete(&app.context, &path.part, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}
