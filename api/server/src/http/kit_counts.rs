//! Kit counts.

use actix_web::{HttpResponse, get, post, web};
use types::{GetKitCount, KitCount, KitCounts, KitPath, NewKitCounts};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Body, Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(count_kit).service(count_kits);
}

/// Count how many complete kits of one kind the stock of a site makes, what the next one wants, and
/// what one more piece of which part would give.
#[utoipa::path(tag = "kits", security(("key" = ["read"])), params(KitPath, GetKitCount), responses(
    (status = 200, description = "The count", body = KitCount),
    (status = 409, description = "It goes together on no torch, or holds only what the site bars", body = types::Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Rules,
))]
#[get("/kits/{kit}/count")]
async fn count_kit(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<KitPath>,
    query: web::Query<GetKitCount>,
) -> Answer {
    let counted = service::kit_counts::get(&app.context, &path.kit, &query).await?;
    Ok(HttpResponse::Ok().json(counted))
}

/// Count how many complete kits of several kinds the stock of a site makes, no piece used twice: the
/// most in all, and what there is if the kinds are filled in the order given. Nothing is changed.
#[utoipa::path(tag = "kits", security(("key" = ["read"])), request_body = NewKitCounts, responses(
    (status = 200, description = "The counts", body = KitCounts),
    (status = 409, description = "A kit goes together on no torch, or holds only what the site bars", body = types::Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/kits/count")]
async fn count_kits(
    _: Authorized<Read>,
    app: web::Data<App>,
    new: web::Json<NewKitCounts>,
) -> Answer {
    let counted = service::kit_counts::get_together(&app.context, &new).await?;
    Ok(HttpResponse::Ok().json(counted))
}
