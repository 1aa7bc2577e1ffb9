//! Webhooks: addresses to which the service sends what it tells.

use actix_web::http::header;
use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{NewWebhook, Page, Webhook, WebhookPage, WebhookPath, WebhookSecret, WebhookTest};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Own};
use super::error::Answer;
use super::extract::{IfMatch, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::{channels, service};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_webhooks)
        .service(create_webhook)
        .service(get_webhook)
        .service(replace_webhook)
        .service(delete_webhook)
        .service(try_webhook)
        .service(enable_webhook)
        .service(rotate_webhook_secret);
}

/// List the webhooks, oldest first, with what came of the last try.
#[utoipa::path(tag = "webhooks", security(("key" = ["own"])), params(Page), responses(
    (status = 200, description = "A page of webhooks, without their secrets", body = WebhookPage),
    Common,
    Rules,
))]
#[get("/webhooks")]
async fn list_webhooks(_: Authorized<Own>, app: web::Data<App>, query: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::webhooks::list(&app.context, &query).await?))
}

/// Add a webhook. Its secret is shown this once only. What is sent is a `CloudEvent` 1.0 in JSON whose data
/// is an event, signed as the Standard Webhooks specification has it; an event keeps its id at every try.
#[utoipa::path(tag = "webhooks", security(("key" = ["own"])), request_body = NewWebhook, responses(
    (status = 201, description = "Added", body = WebhookSecret, headers(("Location" = String))),
    Body,
    Common,
    Rules,
))]
#[post("/webhooks")]
async fn create_webhook(
    _: Authorized<Own>,
    app: web::Data<App>,
    new: web::Json<NewWebhook>,
) -> Answer {
    let made = channels::create_webhook(&app.context, &app.channels, new.into_inner()).await?;
    let place = format!("/v1/webhooks/{}", made.webhook.id);
    Ok(HttpResponse::Created()
        .insert_header((header::LOCATION, place))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(made))
}

/// Read a webhook.
#[utoipa::path(tag = "webhooks", security(("key" = ["own"])), params(WebhookPath), responses(
    (status = 200, description = "The webhook", body = Webhook, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/webhooks/{webhook}")]
async fn get_webhook(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<WebhookPath>,
) -> Answer {
    let found = service::webhooks::get(&app.context, &path.webhook).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a webhook; its secret stays.
#[utoipa::path(tag = "webhooks", security(("key" = ["own"])), params(WebhookPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewWebhook, responses(
    (status = 200, description = "Replaced", body = Webhook, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/webhooks/{webhook}")]
async fn replace_webhook(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<WebhookPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewWebhook>,
) -> Answer {
    let (context, named) = (&app.context, (&*path.webhook, seen));
    let replaced =
        channels::replace_webhook(context, &app.channels, named, new.into_inner()).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a webhook, with what is on its way to it.
#[utoipa::path(tag = "webhooks", security(("key" = ["own"])), params(WebhookPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    Common,
    Edit,
    Missing,
))]
#[delete("/webhooks/{webhook}")]
async fn delete_webhook(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<WebhookPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::webhooks::delete(&app.context, &path.webhook, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Send a test to a webhook, also to a disabled one, and tell what came back. It is tried once.
#[utoipa::path(tag = "webhooks", security(("key" = ["own"])), params(WebhookPath), responses(
    (status = 200, description = "What came back", body = WebhookTest),
    Common,
    Missing,
))]
#[post("/webhooks/{webhook}/test")]
async fn try_webhook(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<WebhookPath>,
) -> Answer {
    let came = channels::try_webhook(&app.context, &app.channels, &path.webhook).await?;
    Ok(HttpResponse::Ok().json(came))
}

/// Send to a webhook again that was disabled. What it missed is in `/v1/events`.
#[utoipa::path(tag = "webhooks", security(("key" = ["own"])), params(WebhookPath), responses(
    (status = 200, description = "In use", body = Webhook, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[post("/webhooks/{webhook}/enable")]
async fn enable_webhook(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<WebhookPath>,
) -> Answer {
    let enabled = service::webhooks::enable(&app.context, &path.webhook).await?;
    Ok(tagged(enabled.version, &enabled))
}

/// Make a new secret, shown this once only. For 24 hours what is sent is signed with both.
#[utoipa::path(tag = "webhooks", security(("key" = ["own"])), params(WebhookPath), responses(
    (status = 200, description = "The new secret", body = WebhookSecret),
    Common,
    Missing,
))]
#[post("/webhooks/{webhook}/secret")]
async fn rotate_webhook_secret(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<WebhookPath>,
) -> Answer {
    let made = service::webhooks::rotate(&app.context, &path.webhook).await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(made))
}
