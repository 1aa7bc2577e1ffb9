//! Entries of the ledger, one at a time.

use actix_web::{HttpResponse, get, web};
use types::{Entry, EntryPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Missing};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_entry);
}

/// Get an entry: what was told, what it moved or counted, what takes it back, and what was asked
/// about it.
#[utoipa::path(tag = "entries", security(("key" = ["read"])), params(EntryPath), responses(
    (status = 200, description = "The entry", body = Entry),
    Common,
    Missing,
))]
#[get("/entries/{entry}")]
async fn get_entry(_: Authorized<Read>, app: web::Data<App>, path: web::Path<EntryPath>) -> Answer {
    Ok(HttpResponse::Ok().json(service::ledger::get_entry(&app.context, path.entry).await?))
}
