//! The sheet of courses: a row a course, pushed to set them up.

use actix_web::{HttpRequest, post, web};
use chrono::NaiveDate;
use types::{NewCourse, Problem, PushSheet, PushedSheet, SheetText};
use utoipa_actix_web::service_config::ServiceConfig;

use super::pushed::{self, Judged, Outcome, Pushed, Row};
use crate::app::App;
use crate::http::auth::{Authorized, Keep};
use crate::http::error::Answer;
use crate::http::problems::{Body, Common};
use crate::service;
use crate::service::courses::Pushing;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(push_courses_sheet);
}

const DATE: &[&str] = &["date", "starts"];
const HEADS: &[&str] = &["heads"];
const STATIONS: &[&str] = &["stations"];

/// Set up courses from a sheet, a row a course. Columns: `date`, `heads` and `stations` must be there;
/// `ends` or `days`, `exercises` (parted by semicolons), `kit`, `site`, `code` and `name` may be; others stay as
/// they are. Without a code a course is called after its day, as course-0912. Each row is judged alone: what is
/// right is set up, what is not comes back with the reason. The answer is the same sheet with `result` and
/// `what to do`, or JSON with `Accept: application/json`. A row that says what is set up already does nothing.
#[utoipa::path(tag = "sheets", security(("key" = ["keep"])), params(PushSheet), request_body(content = SheetText, content_type = "text/csv"), responses(
    (status = 200, description = "The sheet, with what became of each row", content((SheetText = "text/csv; charset=utf-8; header=present"), (PushedSheet = "application/json"))),
    (status = 422, description = "The sheet cannot be taken as a whole", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
))]
#[post("/sheets/courses.csv")]
async fn push_courses_sheet(
    _: Authorized<Keep>,
    app: web::Data<App>,
    how: web::Query<PushSheet>,
    request: HttpRequest,
    body: web::Payload,
) -> Answer {
    let text = pushed::text(&request, body, app.config.body_limit_bytes).await?;
    let sheet = Pushed::read(&text, &[DATE, HEADS, STATIONS])?;
    let rows: Vec<Result<NewCourse, String>> =
        sheet.rows.iter().map(|row| course(&sheet, row)).collect();
    let outcomes = service::courses::push(&app.context, rows, how.only_try).await?;
    let judged = outcomes.into_iter().map(judged).collect();
    Ok(sheet.answer(judged, (&request, how.only_try)))
}

fn judged(outcome: Pushing) -> Judged {
    match outcome {
        Pushing::In(code) => (Outcome::In, code),
        Pushing::AlreadyIn => (Outcome::AlreadyIn, String::new()),
        Pushing::Refused(why) => (Outcome::Refused, why),
    }
}

/// A row as a course, or all that cannot be read in it.
fn course(sheet: &Pushed, row: &Row) -> Result<NewCourse, String> {
    let mut wrong = Vec::new();
    let text = |names: &[&str]| sheet.cell(row, names).map(str::to_owned);
    let starts = read(&mut wrong, ("date", text(DATE)), day);
    let ends = read(&mut wrong, ("ends", text(&["ends"])), day);
    let days = read(&mut wrong, ("days", text(&["days"])), number);
    let heads = read(&mut wrong, ("heads", text(HEADS)), number);
    let stations = read(&mut wrong, ("stations", text(STATIONS)), number);
    for (column, is_missing) in [
        ("date", text(DATE).is_none()),
        ("heads", text(HEADS).is_none()),
        ("stations", text(STATIONS).is_none()),
    ] {
        if is_missing {
            wrong.push(format!("{column}: missing; fill it in"));
        }
    }
    let (Some(starts), true) = (starts, wrong.is_empty()) else {
        return Err(wrong.join("; "));
    };
    let exercises = text(&["exercises"]).unwrap_or_default();
    let exercises = exercises.split(';').map(str::trim);
    let called = || starts.format("course-%m%d").to_string();
    Ok(NewCourse {
        code: text(&["code"]).unwrap_or_else(called),
        name: text(&["name"]),
        site: text(&["site"]),
        kit: text(&["kit"]).unwrap_or_default(),
        starts,
        ends,
        heads: heads.unwrap_or_default(),
        days,
        stations: stations.unwrap_or_default(),
        exercises: exercises
            .filter(|it| !it.is_empty())
            .map(str::to_owned)
            .collect(),
        ..NewCourse::default()
    })
}

/// Reads a cell, if there is anything in it; what is wrong with it is noted.
fn read<T>(
    wrong: &mut Vec<String>,
    (column, cell): (&str, Option<String>),
    of: impl Fn(&str) -> Result<T, String>,
) -> Option<T> {
    let told = of(&cell?);
    told.map_err(|why| wrong.push(format!("{column}: {why}")))
        .ok()
}

fn day(cell: &str) -> Result<NaiveDate, String> {
    let day = NaiveDate::parse_from_str(cell, "%Y-%m-%d");
    day.map_err(|_| format!("\"{cell}\" is no day; write it as 2026-09-12"))
}

fn number(cell: &str) -> Result<i64, String> {
    let number = cell.parse();
    number.map_err(|_| format!("\"{cell}\" is no whole number; write it in figures"))
}
