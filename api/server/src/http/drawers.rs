//! Drawers.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{AtSite, Drawer, DrawerPage, DrawerPath, ListDrawers, NewDrawer, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_drawers)
        .service(create_drawer)
        .service(get_drawer)
        .service(replace_drawer)
        .service(delete_drawer);
}

/// List the drawers of a site as people number them: 2 before 10.
#[utoipa::path(tag = "drawers", security(("key" = ["read"])), params(ListDrawers), responses(
    (status = 200, description = "A page of drawers", body = DrawerPage),
    Common,
    Rules,
))]
#[get("/drawers")]
async fn list_drawers(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListDrawers>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::drawers::list(&app.context, &query).await?))
}

/// Set up a drawer: a numbered place of a site, or the kit of a school's station.
#[utoipa::path(tag = "drawers", security(("key" = ["keep"])), request_body = NewDrawer, responses(
    (status = 201, description = "Set up", body = Drawer, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The site has a drawer of that code", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/drawers")]
async fn create_drawer(
    _: Authorized<Keep>,
    app: web::Data<App>,
    new: web::Json<NewDrawer>,
) -> Answer {
    let made = service::drawers::create(&app.context, new.into_inner()).await?;
    let (code, site) = (&made.code, made.site.as_deref().unwrap_or_default());
    let place = format!("/v1/drawers/{code}?site={site}");
    Ok(created(&place, made.version, &made))
}

/// Read a drawer.
#[utoipa::path(tag = "drawers", security(("key" = ["read"])), params(DrawerPath, AtSite), responses(
    (status = 200, description = "The drawer", body = Drawer, headers(("ETag" = String))),
    Common,
    Missing,
    Rules,
))]
#[get("/drawers/{drawer}")]
async fn get_drawer(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<DrawerPath>,
    at: web::Query<AtSite>,
) -> Answer {
    let found = service::drawers::get(&app.context, &path.drawer, at.site.as_deref()).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a drawer: its name and what lies in it.
#[utoipa::path(tag = "drawers", security(("key" = ["keep"])), params(DrawerPath, AtSite, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewDrawer, responses(
    (status = 200, description = "Replaced", body = Drawer, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/drawers/{drawer}")]
async fn replace_drawer(
    _: Authorized<Keep>,
    app: web::Data<App>,
    (path, at): (web::Path<DrawerPath>, web::Query<AtSite>),
    IfMatch(seen): IfMatch,
    new: web::Json<NewDrawer>,
) -> Answer {
    let drawer = (&*path.drawer, at.site.as_deref());
    let replaced = service::drawers::replace(&app.context, drawer, seen, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a drawer with its photos. The parts that lie in it stay on record.
#[utoipa::path(tag = "drawers", security(("key" = ["keep"])), params(DrawerPath, AtSite, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    Common,
    Edit,
    Missing,
    Rules,
))]
#[delete("/drawers/{drawer}")]
async fn delete_drawer(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<DrawerPath>,
    at: web::Query<AtSite>,
    IfMatch(seen): IfMatch,
) -> Answer {
    let drawer = (&*path.drawer, at.site.as_deref());
    service::drawers::delete(&app.context, drawer, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}
