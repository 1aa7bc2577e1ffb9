//! Sheets as CSV, RFC 4180: UTF-8, lines ended by CR LF, decimals with a full stop, instants by RFC 3339.

use chrono::SecondsFormat;

use super::returned::Returned;
use super::{Cell, Plain, returned};

/// The names and the rows.
pub(super) fn all(sheet: &Plain<'_>) -> Vec<u8> {
    let mut text = Vec::new();
    write(&mut text, [sheet.names().map(str::to_owned).collect()]);
    text.extend(rows(sheet));
    text
}

/// The rows.
pub(super) fn rows(sheet: &Plain<'_>) -> Vec<u8> {
    let mut text = Vec::new();
    let as_of = sheet.as_of.to_rfc3339_opts(SecondsFormat::AutoSi, true);
    let rows = sheet.rows.iter().map(|row| {
        let cells = row.iter().map(value).chain([as_of.clone()]);
        cells.collect::<Vec<String>>()
    });
    write(&mut text, rows);
    text
}

/// A sheet that comes back, under its sum, which is skipped as a title when the sheet comes again.
pub(super) fn returned(sheet: &Returned<'_>) -> Vec<u8> {
    let mut text = Vec::new();
    write(&mut text, [vec![harmless(sheet.says)]]);
    write(&mut text, [returned::names(sheet).map(harmless).collect()]);
    write(
        &mut text,
        returned::rows(sheet).map(|row| row.map(harmless).collect()),
    );
    text
}

fn write(text: &mut Vec<u8>, records: impl IntoIterator<Item = Vec<String>>) {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(text);
    for record in records {
        writer
            .write_record(record)
            .expect("memory takes it, and every row has a cell for each column");
    }
    writer.flush().expect("memory takes it");
}

/// A cell as another program reads it.
pub fn value(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => harmless(text),
        Cell::Whole(number) => number.to_string(),
        Cell::Real(number) => number.to_string(),
        Cell::Money(money) | Cell::Product(_, money) => money.amount(),
        Cell::Day(day) => day.to_string(),
        Cell::Instant(instant) => instant.to_rfc3339_opts(SecondsFormat::AutoSi, true),
        Cell::Nothing => String::new(),
    }
}

/// Text that a spreadsheet would run as a formula gets an apostrophe in front of it, which makes it
/// text there.
pub fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}
