//! Offers.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{NewOffer, Offer, OfferPage, OfferPath, Page, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_offers)
        .service(create_offer)
        .service(get_offer)
        .service(replace_offer)
        .service(delete_offer);
}

/// List offers.
#[utoipa::path(tag = "offers", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of offers", body = OfferPage),
    Common,
    Rules,
))]
#[get("/offers")]
async fn list_offers(_: Authorized<Read>, app: web::Data<App>, page: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::offers::list(&app.context, &page).await?))
}

/// Set up an offer.
#[utoipa::path(tag = "offers", security(("key" = ["keep"])), request_body = NewOffer, responses(
    (status = 201, description = "Set up", body = Offer, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/offers")]
async fn create_offer(
    _: Authorized<Keep>,
    app: web::Data<App>,
    new: web::Json<NewOffer>,
) -> Answer {
    let made = service::offers::create(&app.context, new.into_inner()).await?;
    Ok(created(
        &format!("/v1/offers/{}", made.id),
        made.version,
        &made,
    ))
}

/// Read an offer.
#[utoipa::path(tag = "offers", security(("key" = ["read"])), params(OfferPath), responses(
    (status = 200, description = "The offer", body = Offer, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/offers/{offer}")]
async fn get_offer(_: Authorized<Read>, app: web::Data<App>, path: web::Path<OfferPath>) -> Answer {
    let found = service::offers::get(&app.context, &path.offer).await?;
    Ok(tagged(found.version, &found))
}

/// Replace an offer.
#[utoipa::path(tag = "offers", security(("key" = ["keep"])), params(OfferPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewOffer, responses(
    (status = 200, description = "Replaced", body = Offer, headers(("ETag" = String))),
    (status = 409, description = "There is one like it already", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/offers/{offer}")]
async fn replace_offer(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<OfferPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewOffer>,
) -> Answer {
    let replaced =
        service::offers::replace(&app.context, &path.offer, seen, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove an offer. Answers 409 while something refers to it.
#[utoipa::path(tag = "offers", security(("key" = ["keep"])), params(OfferPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    (status = 409, description = "In use", body = Problem, content_type = "application/problem+json"),
    Common,
    Edit,
    Missing,
))]
#[delete("/offers/{offer}")]
async fn delete_offer(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<OfferPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::offers::delete(&app.context, &path.offer, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}
