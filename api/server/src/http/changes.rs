//! What changed.

use actix_web::{HttpResponse, get, web};
use types::{Changes, GetChanges};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_changes);
}

/// Tell what is to be done next and what changed since somebody last looked: what arrived, was used and ran
/// low, orders, questions and counts.
#[utoipa::path(tag = "stock", security(("key" = ["read"])), params(GetChanges), responses(
    (status = 200, description = "What changed", body = Changes),
    Common,
    Rules,
))]
#[get("/changes")]
async fn get_changes(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetChanges>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::changes::get(&app.context, &query).await?))
}
