//! The first sheet of a workbook of Office Open XML that has rows, cell by cell: a cell in the last row and column
//! there can be takes no more memory than one in the first.

use std::io::Cursor;

use calamine::{DataRef, Reader, Xlsx};

use super::archive::damaged;
use super::{Row, Rows, Unread, looked_at, place};

/// The reader of the library breaks down over some references that no program writes, which is no fault of the service.
pub(super) fn read(bytes: &[u8]) -> Result<Vec<Row>, Unread> {
    let read = std::panic::catch_unwind(|| first_with_rows(bytes));
    read.unwrap_or_else(|_| Err(damaged("it refers to cells that cannot be")))
}

fn first_with_rows(bytes: &[u8]) -> Result<Vec<Row>, Unread> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(|error| damaged(&error))?;
    for name in looked_at(book.sheet_names()) {
        let rows = sheet(&mut book, &name)?;
        if !rows.is_empty() {
            return Ok(rows);
        }
    }
    Ok(Vec::new())
}

fn sheet(book: &mut Xlsx<Cursor<&[u8]>>, name: &str) -> Result<Vec<Row>, Unread> {
    let mut cells = book
        .worksheet_cells_reader(name)
        .map_err(|error| damaged(&error))?;
    let mut rows = Rows::default();
    let mut row = Row::default();
    while let Some(cell) = cells.next_cell().map_err(|error| damaged(&error))? {
        let (line, column) = cell.get_position();
        let line = u64::from(line) + 1;
        if line < row.line {
            return Err(damaged("its rows are out of order"));
        }
        if line > row.line {
            let next = Row {
                line,
                cells: Vec::new(),
            };
            rows.keep(std::mem::replace(&mut row, next))?;
        }
        let text = text(cell.get_value());
        if !text.is_empty() {
            place(
                &mut row,
                usize::try_from(column).unwrap_or(usize::MAX),
                &text,
            )?;
        }
    }
    rows.keep(row)?;
    Ok(rows.into_rows())
}

/// A cell as it would be written in a text. A formula is its value.
fn text(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Empty => String::new(),
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => number.to_string(),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            text.clone()
        }
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(is) => is.to_string(),
        DataRef::DateTime(at) => match at.as_datetime() {
            Some(at) if at.time() == chrono::NaiveTime::MIN => at.date().to_string(),
            Some(at) => at.format("%Y-%m-%d %H:%M:%S").to_string(),
            None => at.as_f64().to_string(),
        },
        DataRef::Error(error) => error.to_string(),
    }
}
