//! Seats of parts.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{NewPartSeats, Page, PartSeats, PartSeatsPage, PartSeatsPath, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_seats)
        .service(create_seats)
        .service(get_seats)
        .service(replace_seats)
        .service(delete_seats);
}

/// List the seats of parts: those that are usual, and those that the shop has added.
#[utoipa::path(tag = "seats", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of seats", body = PartSeatsPage),
    Common,
))]
#[get("/seats")]
async fn list_seats(_: Authorized<Read>, app: web::Data<App>, page: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::seats::list(&app.context, &page).await?))
}

/// Add seats: of a pattern that has none, or of one part that differs from its pattern.
#[utoipa::path(tag = "seats", security(("key" = ["keep"])), request_body = NewPartSeats, responses(
    (status = 201, description = "Set up", body = PartSeats, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/seats")]
async fn create_seats(
    _: Authorized<Keep>,
    app: web::Data<App>,
    new: web::Json<NewPartSeats>,
) -> Answer {
    let made = service::seats::create(&app.context, new.into_inner()).await?;
    Ok(created(
        &format!("/v1/seats/{}", made.code),
        made.version,
        &made,
    ))
}

/// Read the seats of a pattern or a part.
#[utoipa::path(tag = "seats", security(("key" = ["read"])), params(PartSeatsPath), responses(
    (status = 200, description = "The seats", body = PartSeats, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/seats/{seats}")]
async fn get_seats(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<PartSeatsPath>,
) -> Answer {
    let found = service::seats::get(&app.context, &path.seats).await?;
    Ok(tagged(found.version, &found))
}

/// Correct the seats of a pattern or a part.
#[utoipa::path(tag = "seats", security(("key" = ["keep"])), params(PartSeatsPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewPartSeats, responses(
    (status = 200, description = "Replaced", body = PartSeats, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/seats/{seats}")]
async fn replace_seats(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<PartSeatsPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewPartSeats>,
) -> Answer {
    let replaced =
        service::seats::replace(&app.context, &path.seats, seen, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove an entry of seats. What fits can then not be told of the parts it was for.
#[utoipa::path(tag = "seats", security(("key" = ["keep"])), params(PartSeatsPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    Common,
    Edit,
    Missing,
))]
#[delete("/seats/{seats}")]
async fn delete_seats(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<PartSeatsPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::seats::delete(&app.context, &path.seats, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}
