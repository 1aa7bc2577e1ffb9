//! Watches.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{ListWatches, NewWatch, Problem, Watch, WatchPage, WatchPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_watches)
        .service(create_watch)
        .service(get_watch)
        .service(replace_watch)
        .service(delete_watch);
}

/// List the watches of a site, with those that are there by themselves: on every part that can stop work,
/// and on jobs and courses to come.
#[utoipa::path(tag = "warnings", security(("key" = ["read"])), params(ListWatches), responses(
    (status = 200, description = "A page of watches", body = WatchPage),
    Common,
    Rules,
))]
#[get("/watches")]
async fn list_watches(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListWatches>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::watches::list(&app.context, &query).await?))
}

/// Set a watch: on a part, on parts of a kind with named sizes and classes, on a kit, a job or a course. A
/// filter that no part passes is kept, with a note that names the nearest.
#[utoipa::path(tag = "warnings", security(("key" = ["keep"])), request_body = NewWatch, responses(
    (status = 201, description = "Set", body = Watch, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "There is one on the same", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/watches")]
async fn create_watch(
    _: Authorized<Keep>,
    app: web::Data<App>,
    new: web::Json<NewWatch>,
) -> Answer {
    let made = service::watches::create(&app.context, new.into_inner()).await?;
    let place = format!("/v1/watches/{}", made.id.unwrap_or_default());
    Ok(created(&place, made.version, &made))
}

/// Read a watch.
#[utoipa::path(tag = "warnings", security(("key" = ["read"])), params(WatchPath), responses(
    (status = 200, description = "The watch", body = Watch, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/watches/{watch}")]
async fn get_watch(_: Authorized<Read>, app: web::Data<App>, path: web::Path<WatchPath>) -> Answer {
    let found = service::watches::get(&app.context, &path.watch).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a watch; `off` with a reason silences it for good.
#[utoipa::path(tag = "warnings", security(("key" = ["keep"])), params(WatchPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewWatch, responses(
    (status = 200, description = "Replaced", body = Watch, headers(("ETag" = String))),
    (status = 409, description = "There is one on the same", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/watches/{watch}")]
async fn replace_watch(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<WatchPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewWatch>,
) -> Answer {
    let (watch, new) = (&path.watch, new.into_inner());
    let replaced = service::watches::replace(&app.context, watch, seen, new).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a watch; a part that can stop work is watched by itself again.
#[utoipa::path(tag = "warnings", security(("key" = ["keep"])), params(WatchPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    Common,
    Edit,
    Missing,
))]
#[delete("/watches/{watch}")]
async fn delete_watch(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<WatchPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::watches::delete(&app.context, &path.watch, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}
