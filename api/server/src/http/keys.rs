//! Keys.

use actix_web::{HttpResponse, delete, get, http::header, post, web};
use types::{CreatedKey, Key, KeyPage, KeyPath, NewKey, NewRotation, Page, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Own};
use super::error::Answer;

use super::problems::{Body, Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_keys)
        .service(create_key)
        .service(rotate_key)
        .service(revoke_key);
}

/// List the keys, revoked ones included.
#[utoipa::path(tag = "keys", security(("key" = ["own"])), params(Page), responses(
    (status = 200, description = "A page", body = KeyPage),
    Common,
    Rules,
))]
#[get("/keys")]
async fn list_keys(_: Authorized<Own>, app: web::Data<App>, query: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::keys::list(&app.context, &query).await?))
}

/// Make a key. Its secret is shown this once only.
#[utoipa::path(tag = "keys", security(("key" = ["own"])), request_body = NewKey, responses(
    (status = 201, description = "Made", body = CreatedKey, headers(("Location" = String))),
    Body,
    Common,
    Rules,
))]
#[post("/keys")]
async fn create_key(_: Authorized<Own>, app: web::Data<App>, new: web::Json<NewKey>) -> Answer {
    let made = service::keys::create(&app.context, new.into_inner()).await?;
    let place = (header::LOCATION, format!("/v1/keys/{}", made.key.id));
    let silent = (header::CACHE_CONTROL, "no-store");
    Ok(HttpResponse::Created()
        .insert_header(place)
        .insert_header(silent)
        .json(made))
}

/// Give a key a new secret, which is shown this once only. The old one works until a stated instant.
#[utoipa::path(tag = "keys", security(("key" = ["own"])), params(KeyPath), request_body = NewRotation, responses(
    (status = 201, description = "Rotated", body = CreatedKey),
    (status = 409, description = "It is revoked, has expired, or was rotated just now", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
    Rules,
))]
#[post("/keys/{key}/rotation")]
async fn rotate_key(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<KeyPath>,
    new: web::Json<NewRotation>,
) -> Answer {
    let made = service::keys::rotate(&app.context, &path.key, new.into_inner()).await?;
    let silent = (header::CACHE_CONTROL, "no-store");
    Ok(HttpResponse::Created().insert_header(silent).json(made))
}

/// Revoke a key. It stays on record and works no more.
#[utoipa::path(tag = "keys", security(("key" = ["own"])), params(KeyPath), responses(
    (status = 200, description = "Revoked", body = Key),
    (status = 409, description = "It is the only owner's key", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
))]
#[delete("/keys/{key}")]
async fn revoke_key(_: Authorized<Own>, app: web::Data<App>, path: web::Path<KeyPath>) -> Answer {
    Ok(HttpResponse::Ok().json(service::keys::revoke(&app.context, &path.key).await?))
}
