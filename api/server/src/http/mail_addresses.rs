//! Mail addresses: who gets mail, and about what.

use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{MailAddress, MailAddressPage, MailAddressPath, NewMailAddress, Page, Problem};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Own};
use super::error::Answer;
use super::extract::{IfMatch, created, tagged};
use super::problems::{Body, Common, Edit, Missing, Rules};
use crate::app::App;
use crate::channels::check_address;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_mail_addresses)
        .service(create_mail_address)
        .service(get_mail_address)
        .service(replace_mail_address)
        .service(delete_mail_address);
}

/// List the mail addresses, oldest first, with what came of the last try.
#[utoipa::path(tag = "mail", security(("key" = ["own"])), params(Page), responses(
    (status = 200, description = "A page of mail addresses", body = MailAddressPage),
    Common,
    Rules,
))]
#[get("/mail-addresses")]
async fn list_mail_addresses(
    _: Authorized<Own>,
    app: web::Data<App>,
    query: web::Query<Page>,
) -> Answer {
    let says = app.channels.why_no_mail();
    let page = service::mail_addresses::list(&app.context, &query, says).await?;
    Ok(HttpResponse::Ok().json(page))
}

/// Add a mail address. It gets one message for each event that it wants.
#[utoipa::path(tag = "mail", security(("key" = ["own"])), request_body = NewMailAddress, responses(
    (status = 201, description = "Added", body = MailAddress, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The address is there already", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/mail-addresses")]
async fn create_mail_address(
    _: Authorized<Own>,
    app: web::Data<App>,
    new: web::Json<NewMailAddress>,
) -> Answer {
    check_address(&new).map_err(service::Error::from)?;
    let made = service::mail_addresses::create(&app.context, new.into_inner()).await?;
    let place = format!("/v1/mail-addresses/{}", made.id);
    Ok(created(&place, made.version, &made))
}

/// Read a mail address.
#[utoipa::path(tag = "mail", security(("key" = ["own"])), params(MailAddressPath), responses(
    (status = 200, description = "The mail address", body = MailAddress, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/mail-addresses/{mail_address}")]
async fn get_mail_address(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<MailAddressPath>,
) -> Answer {
    let found = service::mail_addresses::get(&app.context, &path.mail_address).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a mail address.
#[utoipa::path(tag = "mail", security(("key" = ["own"])), params(MailAddressPath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewMailAddress, responses(
    (status = 200, description = "Replaced", body = MailAddress, headers(("ETag" = String))),
    (status = 409, description = "The address is there already", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/mail-addresses/{mail_address}")]
async fn replace_mail_address(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<MailAddressPath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewMailAddress>,
) -> Answer {
    check_address(&new).map_err(service::Error::from)?;
    let (id, new) = (&path.mail_address, new.into_inner());
    let replaced = service::mail_addresses::replace(&app.context, id, seen, new).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a mail address, with what is on its way to it.
#[utoipa::path(tag = "mail", security(("key" = ["own"])), params(MailAddressPath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    Common,
    Edit,
    Missing,
))]
#[delete("/mail-addresses/{mail_address}")]
async fn delete_mail_address(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<MailAddressPath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::mail_addresses::delete(&app.context, &path.mail_address, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}
