//! The sheets of what a job or a course needs: a row a part.

use actix_web::{get, web};
use types::{CoursePath, GetNeeds, JobPath, NeedLine, Needs, Problem, SheetPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{Answered, Cell, Sheet, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(get_job_needs_sheet)
        .service(get_course_needs_sheet);
}

/// Tell what a job needs: one row a part.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(JobPath, GetNeeds, SheetPath), responses(
    SheetAnswer,
    (status = 409, description = "No part of it counts", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/jobs/{job}/needs.{form}")]
async fn get_job_needs_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    path: web::Path<JobPath>,
    query: web::Query<GetNeeds>,
) -> Answer {
    let needs = service::needs::get(&app.context, &path.job, &query).await?;
    let mut sheet = Sheet::new("needs", columns("job"), needs.as_of);
    for line in &needs.lines {
        sheet.push(row(&needs, line));
    }
    sheet.answer(form.form)
}

/// Tell what a course needs: one row a part.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(CoursePath, GetNeeds, SheetPath), responses(
    SheetAnswer,
    (status = 409, description = "No part of it counts", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/courses/{course}/needs.{form}")]
async fn get_course_needs_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    path: web::Path<CoursePath>,
    query: web::Query<GetNeeds>,
) -> Answer {
    let told = service::needs::get_course(&app.context, &path.course, &query).await?;
    let names = with_more(&columns("course"), &["per_student_day", "worth_minor"]);
    let mut sheet = Sheet::new("needs", names, told.needs.as_of);
    for (line, part) in told.needs.lines.iter().zip(&told.parts) {
        let more = [part.per_student_day.into(), (&part.worth_minor).into()];
        sheet.push(with_more(&row(&told.needs, line), &more));
    }
    sheet.answer(form.form)
}

/// The columns of a course after those that both sheets share.
fn with_more<T: Clone>(shared: &[T; COLUMNS], more: &[T; 2]) -> [T; COLUMNS + 2] {
    std::array::from_fn(|place| {
        let later = || more[place - COLUMNS].clone();
        shared.get(place).cloned().unwrap_or_else(later)
    })
}

/// How many columns both sheets share.
const COLUMNS: usize = 20;

/// The columns that both sheets share; the first names the work.
const fn columns(work: &'static str) -> [&'static str; COLUMNS] {
    [
        work,
        "part",
        "name",
        "expected",
        "need",
        "available",
        "on_order",
        "short",
        "supplier",
        "packs",
        "pack_size",
        "cost_minor",
        "currency",
        "after",
        "chance_now",
        "chance_after",
        "rung",
        "held_because",
        "unit",
        "more",
    ]
}

/// Further packs of a line: `3 of 1 from millrace`; the cost of the line is of all.
fn more(line: &NeedLine) -> String {
    let told = line.more.iter().map(|order| {
        let (packs, size, supplier) = (order.packs, order.pack_size, &order.supplier);
        format!("{packs} of {size} from {supplier}")
    });
    told.collect::<Vec<_>>().join("; ")
}

fn row(needs: &Needs, line: &NeedLine) -> [Cell; COLUMNS] {
    let order = line.order.as_ref();
    let further: i64 = line.more.iter().map(|order| order.cost_minor).sum();
    [
        (&needs.job).into(),
        (&line.part).into(),
        (&line.name).into(),
        line.expected.into(),
        line.need.into(),
        line.available.into(),
        line.on_order.into(),
        line.short.into(),
        order.map_or(Cell::Nothing, |order| (&order.supplier).into()),
        order.map_or(Cell::Nothing, |order| order.packs.into()),
        order.map_or(Cell::Nothing, |order| order.pack_size.into()),
        order.map_or(Cell::Nothing, |order| (order.cost_minor + further).into()),
        order.map_or(Cell::Nothing, |order| (&order.currency).into()),
        line.after.into(),
        line.chance_now.into(),
        line.chance_after.into(),
        i64::from(line.rung.number).into(),
        (&line.held_because).into(),
        (&line.unit).into(),
        more(line).into(),
    ]
}
