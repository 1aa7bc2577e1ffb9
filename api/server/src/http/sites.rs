//! Sites.

use actix_web::{HttpResponse, get, post, put, web};
use types::{NewSite, Page, Problem, Site, SitePage, SitePath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Own, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_sites)
        .service(create_site)
        .service(get_site)
        .service(replace_site);
}

/// List sites.
#[utoipa::path(tag = "sites", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of sites", body = SitePage),
    Common,
))]
#[get("/sites")]
async fn list_sites(_: Authorized<Read>, app: web::Data<App>, page: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::sites::list(&app.context, &page).await?))
}

/// Set up a site.
#[utoipa::path(tag = "sites", security(("key" = ["own"])), request_body = NewSite, responses(
    (status = 201, description = "Set up", body = Site, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/sites")]
async fn create_site(_: Authorized<Own>, app: web::Data<App>, new: web::Json<NewSite>) -> Answer {
    let made = service::sites::create(&app.context, new.into_inner()).await?;
    Ok(created(
        &format!("/v1/sites/{}", made.code),
        made.version,
        &made,
    ))
}

/// Read a site.
#[utoipa::path(tag = "sites", security(("key" = ["read"])), params(SitePath), responses(
    (status = 200, description = "The site", body = Site, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/sites/{site}")]
async fn get_site(_: Authorized<Read>, app: web::Data<App>, path: web::Path<SitePath>) -> Answer {
    let found = service::sites::get(&app.context, &path.site).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a site.
#[utoipa::path(tag = "sites", security(("key" = ["own"])), params(SitePath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewSite, responses(
    (status = 200, description = "Replaced", body = Site, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/sites/{site}")]
async fn replace_site(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<SitePath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewSite>,
) -> Answer {
    let replaced =
        service::sites::replace(&app.context, &path.site, seen, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}
