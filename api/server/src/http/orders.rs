//! Orders.

use actix_web::{HttpResponse, get, post, web};
use types::{NewArrival, NewOrder, Order, OrderPage, OrderPath, Page, PlaceOrder, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Missing, Repeat, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_orders)
        .service(create_order)
        .service(get_order)
        .service(place_order)
        .service(cancel_order)
        .service(receive_order);
}

/// List the orders, newest first.
#[utoipa::path(tag = "orders", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page", body = OrderPage),
    Common,
    Rules,
))]
#[get("/orders")]
async fn list_orders(_: Authorized<Read>, app: web::Data<App>, query: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::orders::list(&app.context, &query).await?))
}

/// Draft an order at the prices of the supplier.
#[utoipa::path(tag = "orders", security(("key" = ["keep"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewOrder, responses(
    (status = 201, description = "Drafted", body = Order),
    Body,
    Common,
    Repeat,
))]
#[post("/orders")]
async fn create_order(
    by: Authorized<Keep>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewOrder>,
) -> Answer {
    Ok(kept(
        service::orders::create(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}

/// Read an order.
#[utoipa::path(tag = "orders", security(("key" = ["read"])), params(OrderPath), responses(
    (status = 200, description = "The order", body = Order),
    Common,
    Missing,
))]
#[get("/orders/{order}")]
async fn get_order(_: Authorized<Read>, app: web::Data<App>, path: web::Path<OrderPath>) -> Answer {
    Ok(HttpResponse::Ok().json(service::orders::get(&app.context, &path.order).await?))
}

/// Place a draft: what it holds is on order from now on. A draft with a part that its site does not
/// permit any more is refused, and one whose goods are below the least that its supplier sends, unless
/// that is agreed.
#[utoipa::path(tag = "orders", security(("key" = ["keep"])), params(OrderPath, PlaceOrder), responses(
    (status = 200, description = "Done", body = Order),
    (status = 409, description = "Its state does not allow it", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Rules,
))]
#[post("/orders/{order}/place")]
async fn place_order(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<OrderPath>,
    how: web::Query<PlaceOrder>,
) -> Answer {
    let placed = service::orders::place(&app.context, &path.order, &how).await?;
    Ok(HttpResponse::Ok().json(placed))
}

/// Cancel an order: what has not come is not on order any more.
#[utoipa::path(tag = "orders", security(("key" = ["keep"])), params(OrderPath), responses(
    (status = 200, description = "Done", body = Order),
    (status = 409, description = "Its state does not allow it", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
))]
#[post("/orders/{order}/cancel")]
async fn cancel_order(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<OrderPath>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::orders::cancel(&app.context, &path.order).await?))
}

/// Receive what came of an order: everything that is to come, unless the body says what.
#[utoipa::path(tag = "orders", security(("key" = ["keep"])), params(OrderPath, ("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewArrival, responses(
    (status = 200, description = "Received", body = Order),
    (status = 409, description = "Its state does not allow it", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
    Repeat,
))]
#[post("/orders/{order}/receive")]
async fn receive_order(
    by: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<OrderPath>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewArrival>,
) -> Answer {
    let caller = (by.caller, key.as_str());
    Ok(kept(
        service::orders::receive(&app.context, caller, &path.order, new.into_inner()).await?,
    ))
}
