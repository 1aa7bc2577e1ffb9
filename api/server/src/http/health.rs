//! Liveness and readiness; neither needs a key.

use actix_web::{HttpResponse, get, web};
use types::{Health, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::error::Answer;
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_health).service(get_readiness);
}

fn health() -> Health {
    Health {
        status: "ok".to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
    }
}

/// Say that the process lives.
#[utoipa::path(tag = "health", responses((status = 200, description = "It lives", body = Health)))]
#[get("/healthz")]
async fn get_health() -> HttpResponse {
    HttpResponse::Ok().json(health())
}

/// Say whether the service can take requests: the database answers and the writer runs.
#[utoipa::path(tag = "health", responses(
    (status = 200, description = "It is ready", body = Health),
    (status = 503, description = "It is not ready", body = Problem, content_type = "application/problem+json"),
))]
#[get("/readyz")]
async fn get_readiness(app: web::Data<App>) -> Answer {
    service::health::check(&app.context).await?;
    Ok(HttpResponse::Ok().json(health()))
}
