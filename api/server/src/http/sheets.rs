//! Sheets: answers of the API as rows under named columns, for a spreadsheet. What stands in the rows of a sheet is
//! in its own file; how they are written is in `crate::sheets`.

use std::collections::BTreeMap;

use actix_web::HttpResponse;
use actix_web::http::header;
use types::{SheetForm, SheetText, WorkbookFile};
use utoipa::openapi::{ContentBuilder, Ref, RefOr, Response, ResponseBuilder};
use utoipa::{IntoResponses, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;

use super::error::Answer;
use crate::service;
use crate::sheets::{Cell, Sheet, Unwritten};

mod electrodes;
mod fits;
mod kits;
mod ledger;
mod listed;
mod needs;
mod orders;
mod procedure_matches;
mod set_up;
mod shelf;
mod tables;
mod templates;
mod track_record;
mod warnings;

/// Every sheet.
pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .configure(electrodes::routes)
        .configure(fits::routes)
        .configure(kits::routes)
        .configure(ledger::routes)
        .configure(needs::routes)
        .configure(orders::routes)
        .configure(procedure_matches::routes)
        .configure(shelf::routes)
        // Ahead of the tables, whose address it would else be one of.
        .configure(set_up::routes)
        .configure(tables::routes)
        .configure(templates::routes)
        .configure(track_record::routes)
        .configure(warnings::routes);
}

/// A sheet in the form that was asked for, as the contract shows it.
enum SheetAnswer {}

impl IntoResponses for SheetAnswer {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        let told = SheetForm::ALL.into_iter().fold(
            ResponseBuilder::new().description("The sheet"),
            |told, form| {
                let schema = match form {
                    SheetForm::Csv => SheetText::name(),
                    SheetForm::Xlsx | SheetForm::Ods => WorkbookFile::name(),
                };
                let schema = Ref::from_schema_name(schema);
                let content = ContentBuilder::new().schema(Some(schema)).build();
                told.content(form.media_type(), content)
            },
        );
        BTreeMap::from([("200".to_owned(), told.build().into())])
    }
}

/// A sheet as an answer.
trait Answered {
    /// In a form; a workbook as a file to keep.
    fn answer(&self, form: SheetForm) -> Answer;
}

impl<const N: usize> Answered for Sheet<N> {
    fn answer(&self, form: SheetForm) -> Answer {
        let fault = |why: Unwritten| service::Error::Internal(why.to_string());
        let bytes = self.write(form).map_err(fault)?;
        Ok(heading(form, &self.file_name(form)).body(bytes))
    }
}

/// What is told ahead of a sheet.
fn heading(form: SheetForm, file_name: &str) -> actix_web::HttpResponseBuilder {
    let mut answer = HttpResponse::Ok();
    answer.insert_header((header::CONTENT_TYPE, form.media_type()));
    if form != SheetForm::Csv {
        let disposition = format!("attachment; filename=\"{file_name}\"");
        answer.insert_header((header::CONTENT_DISPOSITION, disposition));
    }
    answer
}
