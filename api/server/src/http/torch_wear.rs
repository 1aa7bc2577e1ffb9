//! The wear of torches.

use actix_web::{HttpResponse, get, web};
use types::{GetTorchWear, TorchPath, TorchWear};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_torch_wear);
}

/// Compare a torch with the others of its site: how much faster it uses parts, since when, and what to check
/// first. Who worked with it is asked before a fault is looked for.
#[utoipa::path(tag = "torches", security(("key" = ["read"])), params(TorchPath, GetTorchWear), responses(
    (status = 200, description = "The wear of the torch", body = TorchWear),
    Common,
    Missing,
    Rules,
))]
#[get("/torches/{torch}/wear")]
async fn get_torch_wear(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<TorchPath>,
    query: web::Query<GetTorchWear>,
) -> Answer {
    let told = service::torch_wear::get(&app.context, &path.torch, &query).await?;
    Ok(HttpResponse::Ok().json(told))
}
