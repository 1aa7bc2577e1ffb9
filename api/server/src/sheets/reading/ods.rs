//! The first table of a spreadsheet of `OpenDocument` that has rows. A cell or a row that is repeated stands there once
//! with a number, which may be made so large that no memory would hold it: such numbers are looked at first.

use std::io::Cursor;

use calamine::{Data, Ods, Reader};

use super::archive::{content, damaged};
use super::{Row, Unread, keep, looked_at, place};

/// The most that a cell may be repeated to the right, and the most rows: what spreadsheets have.
const ACROSS_MAX: u64 = 16_384;
const DOWN_MAX: u64 = 1_048_576;
/// The most cells that repetition may make of a file.
const CELLS_MAX: u64 = 16 << 20;

pub(super) fn read(bytes: &[u8]) -> Result<Vec<Row>, Unread> {
    measure(&content(bytes)?)?;
    let mut book: Ods<_> = Ods::new(Cursor::new(bytes)).map_err(|error| damaged(&error))?;
    for name in looked_at(book.sheet_names()) {
        let range = book
            .worksheet_range(&name)
            .map_err(|error| damaged(&error))?;
        let (first_row, first_column) = range.start().unwrap_or_default();
        let first_column = usize::try_from(first_column).unwrap_or(usize::MAX);
        let mut rows = Vec::new();
        for (line, cells) in (u64::from(first_row) + 1..).zip(range.rows()) {
            let mut row = Row {
                line,
                cells: Vec::new(),
            };
            for (column, cell) in cells.iter().enumerate() {
                let text = text(cell);
                if !text.is_empty() {
                    place(&mut row, first_column.saturating_add(column), &text)?;
                }
            }
            keep(&mut rows, row)?;
        }
        if !rows.is_empty() {
            return Ok(rows);
        }
    }
    Ok(Vec::new())
}

/// Refuses what repetition would make too large: each row has so many cells, so many times.
fn measure(content: &str) -> Result<(), Unread> {
    let mut cells = 0_u64;
    for row in content.split("<table:table-row").skip(1) {
        let (head, body) = row.split_once('>').unwrap_or((row, ""));
        let down = repeated(head, "number-rows-repeated");
        let mut across = 0_u64;
        // What is blank at the end of a row or of the table is left out in reading.
        let mut upto_filled = 0_u64;
        for cell in body.split("<table:").skip(1) {
            let head = cell.split('>').next().unwrap_or_default();
            if !head.starts_with("table-cell") && !head.starts_with("covered-table-cell") {
                continue;
            }
            across = across.saturating_add(repeated(head, "number-columns-repeated"));
            if head.contains("value-type") || cell.contains("<text:p") {
                upto_filled = across;
            }
        }
        if upto_filled > ACROSS_MAX || (upto_filled > 0 && down > DOWN_MAX) {
            return Err(too_many());
        }
        cells = cells.saturating_add(upto_filled.saturating_mul(down));
        if cells > CELLS_MAX {
            return Err(too_many());
        }
    }
    Ok(())
}

fn repeated(head: &str, name: &str) -> u64 {
    let told = head.split_once(name).map(|(_, rest)| rest);
    let figures = told.map(|rest| rest.trim_start_matches(['=', '"', '\'', ' ']));
    let end = |text: &str| {
        text.find(|letter: char| !letter.is_ascii_digit())
            .unwrap_or(text.len())
    };
    // A number that is too large to be read is larger than any limit.
    figures.map_or(1, |text| text[..end(text)].parse().unwrap_or(u64::MAX))
}

fn too_many() -> Unread {
    Unread::TooLarge(format!(
        "the workbook repeats cells until they are more than {CELLS_MAX}; clear what is below and beside the sheet"
    ))
}

/// A cell as it would be written in a text. A formula is its value.
fn text(value: &Data) -> String {
    match value {
        Data::Empty => String::new(),
        Data::Int(number) => number.to_string(),
        Data::Float(number) => number.to_string(),
        Data::String(text) | Data::DurationIso(text) => text.clone(),
        Data::DateTimeIso(text) => text.strip_suffix("T00:00:00").unwrap_or(text).to_owned(),
        Data::Bool(is) => is.to_string(),
        Data::DateTime(at) => at
            .as_datetime()
            .map_or_else(|| at.as_f64().to_string(), |at| at.to_string()),
        Data::Error(error) => error.to_string(),
    }
}
