//! The count list.

use actix_web::{HttpResponse, get, web};
use types::{CountList, GetCountList};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_count_list);
}

/// Ask which drawers to count now: those where a count is most likely to change what is ordered. The list
/// is blind, so what the book says is not in it.
#[utoipa::path(tag = "counts", security(("key" = ["read"])), params(GetCountList), responses(
    (status = 200, description = "What to count, drawer by drawer", body = CountList),
    Common,
    Rules,
))]
#[get("/count-list")]
async fn get_count_list(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetCountList>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::count_list::get(&app.context, &query).await?))
}
