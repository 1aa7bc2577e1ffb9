//! The first set-up from a drawer list that is pushed as a file. What becomes of a row is judged by `service::set_up`.

use std::collections::BTreeMap;

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, post, web};
use domain::drawer_label::{Field, Proposal};
use domain::part::PartKind;
use types::{
    DrawerList, JudgedRow, Problem, PushDrawerList, SheetFile, SheetForm, SheetText, WorkbookFile,
};
use utoipa::openapi::{ContentBuilder, Ref, RefOr, Response, ResponseBuilder};
use utoipa::{IntoResponses, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;

use super::tables::{bytes, told, unread};
use crate::app::App;
use crate::http::auth::{Authorized, Keep};
use crate::http::error::Answer;
use crate::http::problems::{Body, Common};
use crate::service;
use crate::service::set_up::{FIELDS, SetUpList, SetUpRow, columns};
use crate::sheets::Unwritten;
use crate::sheets::reading::{self, Table, Told, Unread};
use crate::sheets::returned::{self, COME_BACK};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(push_drawer_list);
}

/// The list that comes back, as the contract shows it.
enum Returned {}

impl IntoResponses for Returned {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        let content = |name| {
            let schema = Ref::from_schema_name(name);
            ContentBuilder::new().schema(Some(schema)).build()
        };
        let told = ResponseBuilder::new()
            .description("The list, with what was understood of each row")
            .content("application/json", content(DrawerList::name()));
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

/// Set up a shop from its own drawer list: CSV, XLSX or ODS with a column for the drawer, one for what lies in it in
/// the shop's own words (`3/32 blue lanthanated 7in`, `#7 cup gas lens`) and one for how many. Which column is which is
/// told by its name (drawer, no., what, description, how many, qty ...) or else by what stands in it. What is certain
/// becomes parts, drawers and first counts; of the rest the answer asks, row by row. It is the same list in the same
/// form with the fields of the part to fill in and a `question`, and can be pushed again; or JSON with
/// `Accept: application/json`. A list that comes again changes nothing. No class is ever taken from a colour.
#[utoipa::path(tag = "sheets", security(("key" = ["keep"])), params(PushDrawerList), request_body(content = SheetFile, content_type = "application/octet-stream"), responses(
    Returned,
    (status = 422, description = "The list cannot be taken as a whole", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
))]
#[post("/sheets/set-up")]
async fn push_drawer_list(
    by: Authorized<Keep>,
    app: web::Data<App>,
    how: web::Query<PushDrawerList>,
    request: HttpRequest,
    body: web::Payload,
) -> Answer {
    let how = how.into_inner();
    let bytes = bytes(body).await?;
    let media_type = told(&request, header::CONTENT_TYPE).to_owned();
    let name = how.name.clone();
    let read = web::block(move || {
        let told = Told {
            media_type: &media_type,
            name: name.as_deref(),
        };
        reading::read_named(&bytes, told, (columns::is_header, columns::MISSING))
    });
    let lost = |_| unread(Unread::Invalid("the list cannot be read".to_owned()));
    let table = read.await.map_err(lost)?.map_err(unread)?;
    let done = service::set_up::push(&app.context, by.caller, &table, &how).await?;
    let form = table.form;
    let list = list(&table, done, how.only_try);
    if told(&request, header::ACCEPT).contains("application/json") {
        return Ok(HttpResponse::Ok().json(list));
    }
    let written = web::block(move || returned::write(&list, form));
    let fault = |why: Unwritten| service::Error::Internal(why.to_string());
    let lost = |_| service::Error::Internal("the list was not written".to_owned());
    let bytes = written.await.map_err(lost)?.map_err(fault)?;
    let name = format!("set-up.{}", form.extension());
    Ok(super::heading(form, &name).body(bytes))
}

const QUESTION: &str = "question";

/// The list with what was understood of each row; what came back before is written anew.
fn list(table: &Table, done: SetUpList, only_tried: bool) -> DrawerList {
    let ours = |name: &str| {
        let mut all = FIELDS.iter().chain(&COME_BACK).chain([&QUESTION]);
        all.any(|it| it.eq_ignore_ascii_case(name.trim()))
    };
    let own: Vec<usize> = (0..table.columns.len())
        .filter(|place| !ours(&table.columns[*place]))
        .collect();
    let cell = |cells: &[String], place: usize| cells.get(place).cloned().unwrap_or_default();
    let rows = table.rows.iter().zip(&done.rows).map(|(row, set_up)| {
        let mut cells: Vec<String> = own.iter().map(|place| cell(&row.cells, *place)).collect();
        for field in FIELDS {
            let given = table.column(field).map(|place| cell(&row.cells, place));
            let given = given.filter(|it| !it.is_empty());
            cells.push(given.unwrap_or_else(|| proposed(set_up, field)));
        }
        cells.push(question(&set_up.proposal));
        JudgedRow {
            line: row.line,
            cells,
            result: set_up.result.to_owned(),
            what_to_do: set_up.what_to_do.clone(),
        }
    });
    let rows = rows.collect();
    let own = own.iter().map(|place| table.columns[*place].clone());
    let added = FIELDS.into_iter().chain([QUESTION]).map(str::to_owned);
    DrawerList {
        says: done.says,
        only_tried,
        header: table.header,
        columns: own.chain(added).collect(),
        rows,
    }
}

/// What is filled in already: what was understood and is not asked about.
fn proposed(row: &SetUpRow, field: &str) -> String {
    let fields = &row.proposal.fields;
    let asked = row.proposal.questions.iter();
    if asked.map(|it| it.field.as_str()).any(|it| it == field) {
        return String::new();
    }
    let told = match field {
        "code" => row.code.clone(),
        "kind" => fields.kind.map(|it| it.as_str().to_owned()),
        "class" => fields.class.map(|it| it.to_string()),
        "diameter" => fields.diameter.map(|it| it.to_string()),
        "length" => length(&row.proposal),
        "family" => fields.family.map(|it| it.as_str().to_owned()),
        "arrangement" => fields.arrangement.map(|it| it.as_str().to_owned()),
        "cup_number" => fields.cup.map(|it| it.to_string()),
        "seat" => fields.seat.map(|it| it.as_str().to_owned()),
        _ => fields.composition.clone(),
    };
    told.unwrap_or_default()
}

fn length(proposal: &Proposal) -> Option<String> {
    let fields = &proposal.fields;
    let kind = fields.kind?;
    if kind == PartKind::Collet {
        fields.collet_length.map(|it| it.as_str().to_owned())
    } else if kind == PartKind::BackCap {
        fields.cap_length.map(|it| it.as_str().to_owned())
    } else {
        fields.rod_length.map(|it| it.to_string())
    }
}

fn question(proposal: &Proposal) -> String {
    let asked = proposal.questions.iter();
    let asked = asked.map(|it| format!("{}: {}", Field::as_str(it.field), it.asks));
    asked.collect::<Vec<_>>().join("; ")
}
