//! Looks.

use actix_web::{HttpResponse, post, web};
use types::{Look, NewLook};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep};
use super::error::Answer;
use super::problems::{Body, Common, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(look_at_stock);
}

/// Look at everything that is watched, now, and tell what there is to say. The service does so by itself as
/// well; looking twice tells nothing twice.
#[utoipa::path(tag = "warnings", security(("key" = ["keep"])), request_body = NewLook, responses(
    (status = 200, description = "What was found", body = Look),
    Body,
    Common,
    Rules,
))]
#[post("/looks")]
async fn look_at_stock(
    _: Authorized<Keep>,
    app: web::Data<App>,
    new: web::Json<NewLook>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::looks::look(&app.context, &new).await?))
}
