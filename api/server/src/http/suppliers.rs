//! Suppliers.

use actix_web::{HttpResponse, get, post, put, web};
use types::{NewSupplier, Page, Problem, Supplier, SupplierPage, SupplierPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_suppliers)
        .service(create_supplier)
        .service(get_supplier)
        .service(replace_supplier);
}

/// List suppliers.
#[utoipa::path(tag = "suppliers", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of suppliers", body = SupplierPage),
    Common,
))]
#[get("/suppliers")]
async fn list_suppliers(
    _: Authorized<Read>,
    app: web::Data<App>,
    page: web::Query<Page>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::suppliers::list(&app.context, &page).await?))
}

/// Set up a supplier.
#[utoipa::path(tag = "suppliers", security(("key" = ["keep"])), request_body = NewSupplier, responses(
    (status = 201, description = "Set up", body = Supplier, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/suppliers")]
async fn create_supplier(
    _: Authorized<Keep>,
    app: web::Data<App>,
    new: web::Json<NewSupplier>,
) -> Answer {
    let made = service::suppliers::create(&app.context, new.into_inner()).await?;
    Ok(created(
        &format!("/v1/suppliers/{}", made.code),
        made.version,
        &made,
    ))
}

/// Read a supplier.
#[utoipa::path(tag = "suppliers", security(("key" = ["read"])), params(SupplierPath), responses(
    (status = 200, description = "The supplier", body = Supplier, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/suppliers/{supplier}")]
async fn get_supplier(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<SupplierPath>,
) -> Answer {
    let found = service::suppliers::get(&app.context, &path.supplier).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a supplier.
#[utoipa::path(tag = "suppliers", security(("key" = ["keep"])), params(SupplierPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewSupplier, responses(
    (status = 200, description = "Replaced", body = Supplier, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/suppliers/{supplier}")]
async fn replace_supplier(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<SupplierPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewSupplier>,
) -> Answer {
    let replaced =
        service::suppliers::replace(&app.context, &path.supplier, seen, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}
