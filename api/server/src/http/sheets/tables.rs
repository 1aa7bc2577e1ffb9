//! Sheets that are pushed as a file. What becomes of a row is judged by `service::pushed`.

use std::collections::BTreeMap;

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, post, web};
use types::{
    JudgedRow, Problem, ProblemKind, PushSheet, PushedSheet, SheetFile, SheetForm, SheetTable,
    SheetTablePath, SheetText, WorkbookFile,
};
use utoipa::openapi::{ContentBuilder, Ref, RefOr, Response, ResponseBuilder};
use utoipa::{IntoResponses, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;

use crate::app::App;
use crate::http::auth::{Authorized, Log};
use crate::http::error::{Answer, Error};
use crate::http::problems::{Body, Common, Missing};
use crate::service;
use crate::service::keys::Caller;
use crate::service::pushed::{self, Pushing};
use crate::sheets::Unwritten;
use crate::sheets::reading::{self, TEXT_MAX, Table, Told, Unread};
use crate::sheets::returned::{self, COME_BACK};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(push_sheet_by_its_columns)
        .service(push_sheet);
}

/// The sheet that comes back, as the contract shows it.
enum Returned {}

impl IntoResponses for Returned {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        let content = |name| {
            let schema = Ref::from_schema_name(name);
            ContentBuilder::new().schema(Some(schema)).build()
        };
        let told = ResponseBuilder::new()
            .description("The sheet, with what became of each row")
            .content("application/json", content(PushedSheet::name()));
        let told = SheetForm::ALL.into_iter().fold(told, |told, form| {
            let schema = match form {
                SheetForm::Csv => SheetText::name(),
                SheetForm::Xlsx | SheetForm::Ods => WorkbookFile::name(),
            };
            told.content(form.media_type(), content(schema))
        });
        BTreeMap::from([("200".to_owned(), told.build().into())])
    }
}

/// Push a sheet into a table: CSV, XLSX or ODS. Which columns must be there is told by the table; a cell may be empty,
/// other columns are not looked at, titles may stand above the names of the columns. Each row is judged alone: what is
/// right goes in, what is not comes back with the reason. The answer is the same sheet in the same form, under a line
/// that adds it up, with `result` and `what to do`; or JSON with `Accept: application/json`. A sheet that comes again
/// changes nothing. Counts and use need the role `log`, other tables and all history the role `keep`.
#[utoipa::path(tag = "sheets", security(("key" = ["log"])), params(SheetTablePath, PushSheet), request_body(content = SheetFile, content_type = "application/octet-stream"), responses(
    Returned,
    (status = 422, description = "The sheet cannot be taken as a whole", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
))]
#[post("/sheets/{table}")]
async fn push_sheet(
    by: Authorized<Log>,
    app: web::Data<App>,
    into: web::Path<SheetTablePath>,
    how: web::Query<PushSheet>,
    request: HttpRequest,
    body: web::Payload,
) -> Answer {
    let into = Some(into.into_inner().table);
    push(&app, (by.caller, into), how.into_inner(), (request, body)).await
}

/// Push a sheet into the table that its columns tell; it is then as if it were pushed into that.
#[utoipa::path(tag = "sheets", security(("key" = ["log"])), params(PushSheet), request_body(content = SheetFile, content_type = "application/octet-stream"), responses(
    Returned,
    (status = 422, description = "The sheet cannot be taken as a whole", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
))]
#[post("/sheets")]
async fn push_sheet_by_its_columns(
    by: Authorized<Log>,
    app: web::Data<App>,
    how: web::Query<PushSheet>,
    request: HttpRequest,
    body: web::Payload,
) -> Answer {
    push(&app, (by.caller, None), how.into_inner(), (request, body)).await
}

/// The tables that columns tell apart: those of usage are those of receipts and more.
const BY_COLUMNS: [SheetTable; 6] = [
    SheetTable::Usage,
    SheetTable::Counts,
    SheetTable::Courses,
    SheetTable::Offers,
    SheetTable::Receipts,
    SheetTable::Parts,
];

async fn push(
    app: &App,
    (caller, into): (Caller, Option<SheetTable>),
    how: PushSheet,
    (request, body): (HttpRequest, web::Payload),
) -> Answer {
    let bytes = bytes(body).await?;
    let media_type = told(&request, header::CONTENT_TYPE).to_owned();
    let (name, from_line) = (how.name.clone(), how.from_line);
    let read = web::block(move || {
        let told = Told {
            media_type: &media_type,
            name: name.as_deref(),
        };
        let (into, table) = read(&bytes, told, into)?;
        Ok(match from_line {
            Some(line) => (into, table.from_line(line)),
            None => (into, table),
        })
    });
    let read = read
        .await
        .map_err(|_| unread(Unread::Invalid("the sheet cannot be read".to_owned())))?;
    let (into, table) = read.map_err(unread)?;
    let how = pushing(how)?;
    let pushed = pushed::push(&app.context, (caller, into), &table, &how).await?;
    let form = table.form;
    let sheet = sheet(table, (into, pushed), how.only_try);
    if told(&request, header::ACCEPT).contains("application/json") {
        return Ok(HttpResponse::Ok().json(sheet));
    }
    let written = web::block(move || returned::write(&sheet, form));
    let fault = |why: Unwritten| service::Error::Internal(why.to_string());
    let lost = |_| service::Error::Internal("the sheet was not written".to_owned());
    let bytes = written.await.map_err(lost)?.map_err(fault)?;
    let name = format!("{}.{}", into.as_str(), form.extension());
    Ok(super::heading(form, &name).body(bytes))
}

fn read(
    bytes: &[u8],
    told: Told<'_>,
    into: Option<SheetTable>,
) -> Result<(SheetTable, Table), Unread> {
    if let Some(into) = into {
        return Ok((into, reading::read(bytes, told, pushed::must(into))?));
    }
    let must = BY_COLUMNS.map(pushed::must);
    let (which, table) = reading::read_one_of(bytes, told, &must)?;
    Ok((BY_COLUMNS[which], table))
}

pub(super) async fn bytes(body: web::Payload) -> Result<web::Bytes, Error> {
    let read = body.to_bytes_limited(TEXT_MAX).await.map_err(|_| {
        let why = format!("the file is over {TEXT_MAX} bytes; cut it into several");
        Error::Request(ProblemKind::TooLarge, why)
    })?;
    read.map_err(|error| {
        let why = format!("the file cannot be read: {error}");
        Error::Request(ProblemKind::MalformedRequest, why)
    })
}

pub(super) fn told(request: &HttpRequest, name: header::HeaderName) -> &str {
    let value = request.headers().get(name);
    value.and_then(|it| it.to_str().ok()).unwrap_or_default()
}

pub(super) fn unread(why: Unread) -> Error {
    let (kind, why) = match why {
        Unread::Form(why) => (ProblemKind::UnsupportedMediaType, why),
        Unread::TooLarge(why) => (ProblemKind::TooLarge, why),
        Unread::Invalid(why) => (ProblemKind::Invalid, why),
    };
    Error::Request(kind, why)
}

fn pushing(how: PushSheet) -> Result<Pushing, Error> {
    let has_decimal_commas = match how.decimal.as_deref() {
        None | Some("." | "") => false,
        Some(",") => true,
        Some(other) => {
            let why = format!("decimal: \"{other}\" is no decimal mark; give , or a full stop");
            return Err(Error::Request(ProblemKind::Invalid, why));
        }
    };
    Ok(Pushing {
        only_try: how.only_try,
        all_or_none: how.all_or_none,
        history: how.history,
        at: how.at,
        by: how.by,
        site: how.site,
        has_decimal_commas,
    })
}

/// The sheet with what became of each row; what came back before is left out.
fn sheet(
    table: Table,
    (into, pushed): (SheetTable, pushed::Pushed),
    only_tried: bool,
) -> PushedSheet {
    let is_own = |name: &String| !COME_BACK.iter().any(|it| it.eq_ignore_ascii_case(name));
    let kept: Vec<usize> = (0..table.columns.len())
        .filter(|place| is_own(&table.columns[*place]))
        .collect();
    let rows = table
        .rows
        .into_iter()
        .zip(pushed.rows)
        .map(|(mut row, judged)| JudgedRow {
            line: row.line,
            cells: kept
                .iter()
                .map(|place| {
                    row.cells
                        .get_mut(*place)
                        .map(std::mem::take)
                        .unwrap_or_default()
                })
                .collect(),
            result: judged.outcome.as_str().to_owned(),
            what_to_do: judged.what_to_do,
        });
    PushedSheet {
        table: into,
        says: pushed.says,
        only_tried,
        header: table.header,
        rows: rows.collect(),
        columns: kept
            .iter()
            .map(|place| table.columns[*place].clone())
            .collect(),
    }
}
