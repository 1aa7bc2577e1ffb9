//! The shop's own bands of current.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{CurrentBand, CurrentBandPage, CurrentBandPath, NewCurrentBand, Page, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_current_bands)
        .service(create_current_band)
        .service(get_current_band)
        .service(replace_current_band)
        .service(delete_current_band);
}

/// List the current bands.
#[utoipa::path(tag = "electrodes", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of bands", body = CurrentBandPage),
    Common,
    Rules,
))]
#[get("/current-bands")]
async fn list_current_bands(
    _: Authorized<Read>,
    app: web::Data<App>,
    page: web::Query<Page>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::current_bands::list(&app.context, &page).await?))
}

/// Set a current band: advice goes by it before it goes by published tables.
#[utoipa::path(tag = "electrodes", security(("key" = ["keep"])), request_body = NewCurrentBand, responses(
    (status = 201, description = "Set", body = CurrentBand, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "There is one for the same electrode, polarity and wave", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/current-bands")]
async fn create_current_band(
    _: Authorized<Keep>,
    app: web::Data<App>,
    new: web::Json<NewCurrentBand>,
) -> Answer {
    let made = service::current_bands::create(&app.context, new.into_inner()).await?;
    let place = format!("/v1/current-bands/{}", made.id);
    Ok(created(&place, made.version, &made))
}

/// Read a current band.
#[utoipa::path(tag = "electrodes", security(("key" = ["read"])), params(CurrentBandPath), responses(
    (status = 200, description = "The band", body = CurrentBand, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/current-bands/{current_band}")]
async fn get_current_band(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<CurrentBandPath>,
) -> Answer {
    let found = service::current_bands::get(&app.context, &path.current_band).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a current band.
#[utoipa::path(tag = "electrodes", security(("key" = ["keep"])), params(CurrentBandPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewCurrentBand, responses(
    (status = 200, description = "Replaced", body = CurrentBand, headers(("ETag" = String))),
    (status = 409, description = "There is one for the same electrode, polarity and wave", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/current-bands/{current_band}")]
async fn replace_current_band(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<CurrentBandPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewCurrentBand>,
) -> Answer {
    let (band, new) = (&path.current_band, new.into_inner());
    let replaced = service::current_bands::replace(&app.context, band, seen, new).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a current band; advice goes by published tables again.
#[utoipa::path(tag = "electrodes", security(("key" = ["keep"])), params(CurrentBandPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    Common,
    Edit,
    Missing,
))]
#[delete("/current-bands/{current_band}")]
async fn delete_current_band(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<CurrentBandPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::current_bands::delete(&app.context, &path.current_band, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}
