//! A sheet of courses: each row a course.

use types::NewCourse;

use super::cells::Cells;
use super::set_up::{self, Prepared};
use super::{Batch, Judged};
use crate::service::{Context, Error};

/// Every column that means something.
pub(super) const MEANS: [&str; 10] = [
    "date",
    "ends",
    "days",
    "heads",
    "stations",
    "exercises",
    "kit",
    "site",
    "code",
    "name",
];

/// Judges rows of courses, and sets up what is right.
///
/// # Errors
/// Nothing can be written.
pub(super) async fn push(context: &Context, sheet: &Batch<'_>) -> Result<Vec<Judged>, Error> {
    set_up::push(context, sheet.how(), sheet.read(prepare)).await
}

fn prepare(mut cells: Cells<'_>) -> Prepared<NewCourse> {
    cells.require(&["date", "heads", "stations"]);
    let starts = cells.day("date").unwrap_or_default();
    let exercises = cells.cell("exercises").unwrap_or_default();
    let exercises = exercises.split(';').map(str::trim);
    let called = || starts.format("course-%m%d").to_string();
    let new = NewCourse {
        code: cells.text("code").unwrap_or_else(called),
        name: cells.text("name"),
        site: cells.site(),
        kit: cells.text("kit").unwrap_or_default(),
        starts,
        ends: cells.day("ends"),
        heads: cells.whole("heads").unwrap_or_default(),
        days: cells.whole("days"),
        stations: cells.whole("stations").unwrap_or_default(),
        exercises: exercises
            .filter(|it| !it.is_empty())
            .map(str::to_owned)
            .collect(),
        ..NewCourse::default()
    };
    cells.read(new)
}
