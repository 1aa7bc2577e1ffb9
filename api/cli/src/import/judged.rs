//! What became of the rows of a sheet: the sum in one line, the same sheet with two columns added, and the rows that a
//! person should see.

use types::{JudgedRow, PushedSheet};

use crate::sheet::{Cell, Column, Sheet};

const RESULT: &str = "result";
const WHAT_TO_DO: &str = "what to do";

/// Whether a person must do something about a row.
pub(super) fn needs_a_person(row: &JudgedRow) -> bool {
    matches!(&*row.result, "refused" | "kept aside")
}

/// `41 rows: 38 in, 1 already in, 2 need you.`: the sum of the parts of a file, as the service tells that of each.
pub(super) fn sum(told: &PushedSheet) -> String {
    let of = |result: &str| told.rows.iter().filter(|row| row.result == result).count();
    let blank = of("blank");
    let need = told.rows.iter().filter(|row| needs_a_person(row)).count();
    let mut says = format!(
        "{} rows: {} in, {} already in, {need} need you.",
        told.rows.len() - blank,
        of("in"),
        of("already in")
    );
    if blank > 0 {
        says = format!("{says} {blank} blank.");
    }
    if told.only_tried {
        says.push_str(" Only tried: nothing has changed.");
    }
    says
}

/// The same sheet, with what became of each row.
pub(super) fn sheet(columns: &[String], rows: &[JudgedRow]) -> Sheet {
    let names = columns.iter().map(String::as_str);
    let columns = names.chain([RESULT, WHAT_TO_DO]).map(|name| Column {
        name: name.to_owned().into(),
        heading: None,
    });
    let rows = rows.iter().map(|row| {
        let cells = row.cells.iter().chain([&row.result, &row.what_to_do]);
        cells.map(Cell::from).collect()
    });
    Sheet {
        columns: columns.collect(),
        rows: rows.collect(),
    }
}

/// The rows that a person should see; none if there are none.
pub(super) fn noted(columns: &[String], rows: &[JudgedRow]) -> Option<Sheet> {
    let part = columns
        .iter()
        .position(|it| it.eq_ignore_ascii_case("part"));
    let mut shown = vec![("line", "Line")];
    shown.extend(part.map(|_| ("part", "Part")));
    shown.extend([(RESULT, "Result"), (WHAT_TO_DO, "What to do")]);
    let mut sheet = Sheet {
        columns: shown
            .into_iter()
            .map(|(name, heading)| Column {
                name: name.into(),
                heading: Some(heading.to_owned()),
            })
            .collect(),
        rows: Vec::new(),
    };
    for row in rows.iter().filter(|row| !row.what_to_do.is_empty()) {
        let mut cells = vec![i64::try_from(row.line).map_or(Cell::Nothing, Cell::Whole)];
        cells.extend(part.map(|place| row.cells.get(place).map_or(Cell::Nothing, Cell::from)));
        cells.extend([Cell::from(&row.result), Cell::from(&row.what_to_do)]);
        sheet.rows.push(cells);
    }
    (!sheet.rows.is_empty()).then_some(sheet)
}
