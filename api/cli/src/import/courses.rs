//! A sheet of courses: the service judges its rows; here it is known by its columns, and shown.

use std::path::Path;

use types::{PushSheet, PushedSheet};

use super::columns::{RESULT, WHAT_TO_DO};
use super::file;
use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Column, Sheet};
use crate::shop::Shop;

/// The text of a sheet of courses, if a file is one: no other has heads at stations.
pub(super) fn read(path: &Path) -> Result<Option<String>, Failure> {
    let text = file::read(path)?;
    let first = text.lines().next().unwrap_or_default().to_ascii_lowercase();
    let columns: Vec<&str> = first
        .split([',', ';'])
        .map(|it| it.trim_matches(['"', ' ']))
        .collect();
    let is_of_courses = ["heads", "stations"].iter().all(|it| columns.contains(it));
    Ok(is_of_courses.then_some(text))
}

/// Sends it, and shows what became of its rows.
pub(super) async fn run(
    sheet: &str,
    only_try: bool,
    shop: &mut Shop<'_, '_>,
) -> Result<u8, Failure> {
    let how = PushSheet { only_try };
    let told = shop.client.push_courses_sheet(sheet, &how).await?;
    shop.output.say(&told.says);
    shop.output.show_data(&told, &back(&told));
    let noted = noted(&told);
    if !noted.rows.is_empty() {
        shop.output.gap();
        shop.output.show_table(&noted);
    }
    let refused = told.rows.iter().any(|row| row.result == "refused");
    Ok(if refused { exit::REFUSED } else { exit::DONE })
}

/// The same sheet, with what became of each row.
fn back(told: &PushedSheet) -> Sheet {
    let names = told.columns.iter().map(String::as_str);
    let columns = names.chain([RESULT, WHAT_TO_DO]).map(|name| Column {
        name: name.to_owned().into(),
        heading: None,
    });
    let rows = told.rows.iter().map(|row| {
        let cells = row.cells.iter().chain([&row.result, &row.what_to_do]);
        cells.map(Cell::from).collect()
    });
    Sheet {
        columns: columns.collect(),
        rows: rows.collect(),
    }
}

/// The rows that a person should see.
fn noted(told: &PushedSheet) -> Sheet {
    let mut sheet = Sheet::new([
        ("line", "Line"),
        (RESULT, "Result"),
        (WHAT_TO_DO, "What to do"),
    ]);
    for row in told.rows.iter().filter(|row| !row.what_to_do.is_empty()) {
        sheet.push([
            i64::try_from(row.line).map_or(Cell::Nothing, Cell::Whole),
            Cell::from(&row.result),
            Cell::from(&row.what_to_do),
        ]);
    }
    sheet
}
