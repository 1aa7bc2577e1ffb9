//! The sheet of the warnings that stand.

use actix_web::{get, web};
use types::{ListWarnings, SheetPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{Answered, Sheet, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_warnings_sheet);
}

/// The warnings as a sheet, a row for each.
///
/// Each row has what is low or not permitted, and what to do next, in one sentence.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(ListWarnings, SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/warnings.{form}")]
async fn get_warnings_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<ListWarnings>,
) -> Answer {
    let columns = [
        "warning",
        "site",
        "kind",
        "subject",
        "part",
        "job",
        "state",
        "says",
        "opened_at",
        "told_at",
    ];
    let page = service::warnings::list(&app.context, &query).await?;
    let zones = service::sites::zones(&app.context, None).await?;
    let mut sheet = Sheet::new("warnings", columns, app.context.clock.now());
    for it in &page.warnings {
        let told_at = it.told_at.map(|at| zones.at(&it.site, &at));
        sheet.push([
            it.id.to_string().into(),
            (&it.site).into(),
            (&it.kind).into(),
            (&it.subject).into(),
            (&it.part).into(),
            (&it.job).into(),
            (&it.state).into(),
            (&it.says).into(),
            zones.at(&it.site, &it.opened_at).into(),
            (&told_at).into(),
        ]);
    }
    sheet.answer(form.form)
}
