//! Photos of the labels of drawers: the only bodies that are not JSON.

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, delete, get, post, web};
use types::{
    AtSite, DrawerPath, ListPhotos, PHOTO_BYTES_MAX, Photo, PhotoPage, PhotoPath, Picture,
    PictureKind, Problem, ProblemKind,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::{Answer, Error};
use super::problems::{Common, Missing, Rules};
use crate::app::App;
use crate::service;

const MIB: usize = 1024 * 1024;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_photos)
        .service(create_photo)
        .service(get_photo)
        .service(delete_photo);
}

/// List the photos of a drawer, oldest first.
#[utoipa::path(tag = "drawers", security(("key" = ["read"])), params(DrawerPath, ListPhotos), responses(
    (status = 200, description = "A page of photos, without the pictures", body = PhotoPage),
    Common,
    Missing,
    Rules,
))]
#[get("/drawers/{drawer}/photos")]
async fn list_photos(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<DrawerPath>,
    query: web::Query<ListPhotos>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::photos::list(&app.context, &path.drawer, &query).await?))
}

/// Add a photo of a drawer's label: JPEG, PNG or WebP, at most 2 MiB. The same picture again is the
/// photo that is there already.
#[utoipa::path(tag = "drawers", security(("key" = ["keep"])), params(DrawerPath, AtSite), request_body(description = "The picture", content((Picture = "image/jpeg"), (Picture = "image/png"), (Picture = "image/webp"))), responses(
    (status = 201, description = "Added, or there already", body = Photo, headers(("Location" = String))),
    (status = 409, description = "The drawer has as many photos as it may", body = Problem, content_type = "application/problem+json"),
    (status = 413, description = "The picture is too large", body = Problem, content_type = "application/problem+json"),
    (status = 415, description = "It is no picture of these kinds", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Rules,
))]
#[post("/drawers/{drawer}/photos")]
async fn create_photo(
    _: Authorized<Keep>,
    app: web::Data<App>,
    (path, at): (web::Path<DrawerPath>, web::Query<AtSite>),
    request: HttpRequest,
    body: web::Payload,
) -> Answer {
    let (kind, content) = picture(&request, body).await?;
    let drawer = (&*path.drawer, at.site.as_deref());
    let photo = service::photos::create(&app.context, drawer, kind, content).await?;
    let (drawer, site, id) = (&photo.drawer, &photo.site, photo.id);
    let place = format!("/v1/drawers/{drawer}/photos/{id}?site={site}");
    Ok(HttpResponse::Created()
        .insert_header((header::LOCATION, place))
        .json(photo))
}

/// Read the picture of a photo. It never changes, so it may be kept.
#[utoipa::path(tag = "drawers", security(("key" = ["read"])), params(PhotoPath, AtSite), responses(
    (status = 200, description = "The picture", content((Picture = "image/jpeg"), (Picture = "image/png"), (Picture = "image/webp")), headers(("ETag" = String), ("Cache-Control" = String))),
    Common,
    Missing,
    Rules,
))]
#[get("/drawers/{drawer}/photos/{photo}")]
async fn get_photo(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<PhotoPath>,
    at: web::Query<AtSite>,
) -> Answer {
    let photo = (&*path.drawer, &*path.photo);
    let shown = service::photos::get(&app.context, photo, at.site.as_deref()).await?;
    Ok(HttpResponse::Ok()
        .content_type(shown.media_type)
        .insert_header((header::ETAG, format!("\"{}\"", shown.digest)))
        // For this caller only: whoever else asks needs a key of their own.
        .insert_header((
            header::CACHE_CONTROL,
            "private, max-age=31536000, immutable",
        ))
        .insert_header((header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .body(shown.content))
}

/// Remove a photo.
#[utoipa::path(tag = "drawers", security(("key" = ["keep"])), params(PhotoPath, AtSite), responses(
    (status = 204, description = "Removed"),
    Common,
    Missing,
    Rules,
))]
#[delete("/drawers/{drawer}/photos/{photo}")]
async fn delete_photo(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<PhotoPath>,
    at: web::Query<AtSite>,
) -> Answer {
    let photo = (&*path.drawer, &*path.photo);
    service::photos::delete(&app.context, photo, at.site.as_deref()).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Reads a picture up to the limit. What it is called and what it begins as must be the same, so that
/// nothing else is ever handed out as a picture.
async fn picture(
    request: &HttpRequest,
    body: web::Payload,
) -> Result<(PictureKind, Vec<u8>), Error> {
    let told = request.headers().get(header::CONTENT_TYPE);
    let told = told.and_then(|told| told.to_str().ok()).unwrap_or_default();
    let Some(kind) = PictureKind::of_media_type(told) else {
        let why = format!("\"{told}\" is not taken; send image/jpeg, image/png or image/webp");
        return Err(Error::Request(ProblemKind::UnsupportedMediaType, why));
    };
    let too_large = |_| {
        let why = format!(
            "the picture is over {} MiB ({PHOTO_BYTES_MAX} bytes); send a smaller one",
            PHOTO_BYTES_MAX / MIB
        );
        Error::Request(ProblemKind::TooLarge, why)
    };
    let read = body.to_bytes_limited(PHOTO_BYTES_MAX).await;
    let content = read.map_err(too_large)?.map_err(|error| {
        let why = format!("the picture cannot be read: {error}");
        Error::Request(ProblemKind::MalformedRequest, why)
    })?;
    if PictureKind::of_bytes(&content) != Some(kind) {
        let begins = PictureKind::of_bytes(&content)
            .map_or("no picture of these kinds", |kind| kind.media_type());
        let why = format!(
            "the body is called {} and begins as {begins}; send a JPEG, PNG or WebP by its own name",
            kind.media_type()
        );
        return Err(Error::Request(ProblemKind::UnsupportedMediaType, why));
    }
    Ok((kind, content.to_vec()))
}
