//! A sheet that comes back in the form in which it was pushed: under the line that adds it up, its own columns and what
//! became of each row.

use types::{DrawerList, JudgedRow, PushedSheet, SheetForm};

use super::{Cell, Unwritten, csv, ods, xlsx};

/// The columns that are added; a sheet that comes a second time has them already.
pub const COME_BACK: [&str; 2] = ["result", "what to do"];

/// A sheet that comes back, whatever it was pushed for.
#[derive(Clone, Copy, Debug)]
pub struct Returned<'s> {
    /// What it is called in a workbook.
    pub(super) title: &'s str,
    /// The sum in one line.
    pub(super) says: &'s str,
    columns: &'s [String],
    rows: &'s [JudgedRow],
}

impl<'s> From<&'s PushedSheet> for Returned<'s> {
    fn from(sheet: &'s PushedSheet) -> Self {
        Self {
            title: sheet.table.as_str(),
            says: &sheet.says,
            columns: &sheet.columns,
            rows: &sheet.rows,
        }
    }
}

impl<'s> From<&'s DrawerList> for Returned<'s> {
    fn from(sheet: &'s DrawerList) -> Self {
        Self {
            title: "set-up",
            says: &sheet.says,
            columns: &sheet.columns,
            rows: &sheet.rows,
        }
    }
}

/// The sheet in a form.
///
/// # Errors
/// What a writer of workbooks says that it cannot write.
pub fn write<'s>(sheet: impl Into<Returned<'s>>, form: SheetForm) -> Result<Vec<u8>, Unwritten> {
    let sheet = &sheet.into();
    match form {
        SheetForm::Csv => Ok(csv::returned(sheet)),
        SheetForm::Xlsx => Ok(xlsx::returned(sheet)?),
        SheetForm::Ods => Ok(ods::returned(sheet)?),
    }
}

/// The names of the columns.
pub(super) fn names<'s>(sheet: &Returned<'s>) -> impl Iterator<Item = &'s str> {
    sheet.columns.iter().map(String::as_str).chain(COME_BACK)
}

/// The rows, cell by cell.
pub(super) fn rows<'s>(
    sheet: &Returned<'s>,
) -> impl Iterator<Item = impl Iterator<Item = &'s str>> {
    sheet.rows.iter().map(|row| {
        let cells = row.cells.iter().chain([&row.result, &row.what_to_do]);
        cells.map(String::as_str)
    })
}

/// A cell of a workbook: a number that is written as numbers are is one, all else is text, so that nothing turns into a
/// date or is rounded.
pub(super) fn cell(text: &str) -> Cell {
    match text.parse::<f64>() {
        _ if text.is_empty() => Cell::Nothing,
        Ok(number) if number.is_finite() && number.to_string() == text => Cell::Real(number),
        _ => text.into(),
    }
}

/// How wide a column is shown, by its name and its cells.
pub(super) fn width<'t>(cells: impl Iterator<Item = &'t str>) -> usize {
    let longest = cells.map(|cell| cell.chars().count()).max();
    (longest.unwrap_or_default() + 2).clamp(super::WIDTHS.0, super::WIDTHS.1)
}

#[cfg(test)]
mod tests {
    use types::{JudgedRow, SheetTable};

    use super::*;
    use crate::sheets::reading::{Told, read};

    fn sheet() -> PushedSheet {
        let row = |line, cells: [&str; 3], result: &str, what: &str| JudgedRow {
            line,
            cells: cells.map(str::to_owned).into(),
            result: result.to_owned(),
            what_to_do: what.to_owned(),
        };
        PushedSheet {
            table: SheetTable::Counts,
            says: "2 rows: 1 in, 0 already in, 1 need you.".to_owned(),
            only_tried: false,
            header: 1,
            columns: ["part", "counted", "counted_at"].map(str::to_owned).into(),
            rows: vec![
                row(2, ["collet-2.4", "3", "2026-06-15 18:00"], "in", ""),
                row(3, ["=1+1", "007", "2.4"], "refused", "count it again"),
            ],
        }
    }

    #[test]
    fn what_comes_back_can_be_pushed_again_in_every_form() {
        for form in SheetForm::ALL {
            let bytes = write(&sheet(), form).expect("it is written");
            let told = Told {
                media_type: form.media_type(),
                name: None,
            };
            let table = read(&bytes, told, &["part", "counted"]).expect("it is read");
            assert_eq!(
                table.columns,
                ["part", "counted", "counted_at", "result", "what to do"]
            );
            let rows = table.rows.iter().map(|row| row.cells.join("|"));
            assert_eq!(
                rows.collect::<Vec<_>>(),
                [
                    "collet-2.4|3|2026-06-15 18:00|in",
                    "=1+1|007|2.4|refused|count it again"
                ],
                "{form:?}"
            );
            assert_eq!(table.header, 2, "the sum stands above: {form:?}");
        }
    }

    #[test]
    fn only_what_is_written_as_a_number_is_one() {
        assert_eq!(cell("3"), Cell::Real(3.0));
        assert_eq!(cell("-2.5"), Cell::Real(-2.5));
        for text in ["007", "1e3", "2.50", "inf", "3-Feb"] {
            assert_eq!(cell(text), Cell::Text(text.to_owned()));
        }
        assert_eq!(cell(""), Cell::Nothing);
    }
}
