//! The buy list.

use actix_web::{HttpResponse, get, web};
use types::{BuyList, GetBuyList};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_buy_list);
}

/// Tell what to buy for a site: what of the stock that is watched is at its order point, how many packs from whom,
/// and by when. Work that is booked has needs of its own, told with the job or course.
#[utoipa::path(tag = "warnings", security(("key" = ["read"])), params(GetBuyList), responses(
    (status = 200, description = "The buy list", body = BuyList),
    Common,
    Rules,
))]
#[get("/buy-list")]
async fn get_buy_list(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetBuyList>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::looks::buy_list(&app.context, &query).await?))
}
