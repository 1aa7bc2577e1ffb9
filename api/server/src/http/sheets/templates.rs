//! Workbooks that a shop opens and uses.

use std::collections::BTreeMap;

use actix_web::{HttpRequest, get, web};
use types::{GetTemplate, TemplatePath, WorkbookFile, WorkbookForm};
use utoipa::openapi::{ContentBuilder, Ref, RefOr, Response, ResponseBuilder};
use utoipa::{IntoResponses, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;

use super::heading;
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing};
use crate::service;
use crate::sheets::Unwritten;
use crate::sheets::templates;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_template);
}

/// A workbook, as the contract shows it.
enum WorkbookAnswer {}

impl IntoResponses for WorkbookAnswer {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        let told = [WorkbookForm::Xlsx, WorkbookForm::Ods].into_iter().fold(
            ResponseBuilder::new().description("The workbook"),
            |told, form| {
                let schema = Ref::from_schema_name(WorkbookFile::name());
                let content = ContentBuilder::new().schema(Some(schema)).build();
                told.content(form.sheet().media_type(), content)
            },
        );
        BTreeMap::from([("200".to_owned(), told.build().into())])
    }
}

/// A workbook to open and use: instructions on its first sheet, a sheet of counts to fill in and push back, and a sheet
/// whose cells ask this service for one figure each, at the address and with the read key that are filled in on the
/// first sheet. No key is put into it.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(TemplatePath, GetTemplate), responses(
    WorkbookAnswer,
    Common,
    Missing,
))]
#[get("/sheets/templates/{template}.{form}")]
async fn get_template(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<TemplatePath>,
    query: web::Query<GetTemplate>,
    request: HttpRequest,
) -> Answer {
    let stored = service::templates::stored(&app.context, query.site.as_deref()).await?;
    let (template, form) = (path.template, path.form.sheet());
    let address = {
        let reached = request.connection_info();
        format!("{}://{}", reached.scheme(), reached.host())
    };
    let written = web::block(move || templates::write(template, form, (&address, &stored)));
    let fault = |why: Unwritten| service::Error::Internal(why.to_string());
    let lost = |_| service::Error::Internal("the workbook was not written".to_owned());
    let bytes = written.await.map_err(lost)?.map_err(fault)?;
    let name = format!("{}.{}", template.as_str(), form.extension());
    Ok(heading(form, &name).body(bytes))
}
