//! Stock.

use actix_web::{HttpResponse, get, web};
use types::{GetStock, ListStock, PartPath, Stock, StockExplanation, StockPage};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;

use super::problems::{Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_stock)
        .service(get_stock)
        .service(explain_stock);
}

/// List the stock of a site, by part.
#[utoipa::path(tag = "stock", security(("key" = ["read"])), params(ListStock), responses(
    (status = 200, description = "A page", body = StockPage),
    Common,
    Rules,
))]
#[get("/stock")]
async fn list_stock(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListStock>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::stock::list(&app.context, &query).await?))
}

/// Read the stock of one part.
#[utoipa::path(tag = "stock", security(("key" = ["read"])), params(PartPath, GetStock), responses(
    (status = 200, description = "The stock", body = Stock),
    Common,
    Missing,
    Rules,
))]
#[get("/stock/{part}")]
async fn get_stock(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<PartPath>,
    query: web::Query<GetStock>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::stock::get(&app.context, &path.part, &query).await?))
}

/// Explain how the stock of one part came about.
#[utoipa::path(tag = "stock", security(("key" = ["read"])), params(PartPath, GetStock), responses(
    (status = 200, description = "How it came about", body = StockExplanation),
    Common,
    Missing,
    Rules,
))]
#[get("/stock/{part}/explanation")]
async fn explain_stock(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<PartPath>,
    query: web::Query<GetStock>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::stock::explain(&app.context, &path.part, &query).await?))
}
