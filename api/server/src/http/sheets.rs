//! Sheets: answers of the API as rows under named columns, in CSV (RFC 4180) for a spreadsheet. This
//! is the one place that writes CSV; what stands in the rows of a sheet is in its own file.

use actix_web::HttpResponse;
use actix_web::http::header;
use chrono::{DateTime, SecondsFormat, Utc};
use types::SHEET_MEDIA_TYPE;
use utoipa_actix_web::service_config::ServiceConfig;

mod courses;
mod electrodes;
mod fits;
mod kits;
mod needs;
mod procedure_matches;
mod pushed;
mod tables;
mod track_record;
mod warnings;

/// The last column of every sheet: the instant that the row stands for, so that an old copy shows.
const AS_OF: &str = "as_of";

/// Every sheet.
pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .configure(courses::routes)
        .configure(electrodes::routes)
        .configure(fits::routes)
        .configure(kits::routes)
        .configure(needs::routes)
        .configure(procedure_matches::routes)
        .configure(tables::routes)
        .configure(track_record::routes)
        .configure(warnings::routes);
}

/// What stands in one place of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Text, which a spreadsheet never runs as a formula.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number, written with a full stop.
    Real(f64),
    /// Nothing.
    Nothing,
}

/// Rows under `N` named columns. The names and their order never change; a new column comes last.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet<const N: usize> {
    columns: [&'static str; N],
    rows: Vec<[Cell; N]>,
    as_of: DateTime<Utc>,
}

impl<const N: usize> Sheet<N> {
    /// A sheet of these columns without rows, which stands for an instant.
    pub fn new(columns: [&'static str; N], as_of: DateTime<Utc>) -> Self {
        Self {
            columns,
            rows: Vec::new(),
            as_of,
        }
    }

    /// Adds a row.
    pub fn push(&mut self, row: [Cell; N]) {
        self.rows.push(row);
    }

    /// The sheet as CSV.
    ///
    /// # Panics
    /// Never: every row has a cell for each column, and memory takes what is written.
    pub fn csv(&self) -> String {
        // RFC 4180 ends a line with both characters.
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .from_writer(Vec::new());
        let header = self.columns.iter().copied().chain([AS_OF]);
        writer.write_record(header).expect("the first row");
        let as_of = self.as_of.to_rfc3339_opts(SecondsFormat::AutoSi, true);
        for row in &self.rows {
            let cells = row.iter().map(value).chain([as_of.clone()]);
            writer.write_record(cells).expect("a cell for each column");
        }
        let bytes = writer.into_inner().expect("memory takes it");
        String::from_utf8(bytes).expect("it was made of text")
    }

    /// The sheet as an answer.
    pub fn answer(&self) -> HttpResponse {
        HttpResponse::Ok()
            .insert_header((header::CONTENT_TYPE, SHEET_MEDIA_TYPE))
            .body(self.csv())
    }
}

/// A cell as another program reads it.
fn value(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => harmless(text),
        Cell::Whole(number) => number.to_string(),
        Cell::Real(number) => number.to_string(),
        Cell::Nothing => String::new(),
    }
}

/// Text that a spreadsheet would run as a formula gets an apostrophe in front of it, which makes it
/// text there.
fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<&String> for Cell {
    fn from(text: &String) -> Self {
        Self::Text(text.clone())
    }
}

impl From<i64> for Cell {
    fn from(number: i64) -> Self {
        Self::Whole(number)
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Self {
        Self::Real(number)
    }
}

impl<T> From<&Option<T>> for Cell
where
    T: Clone + Into<Self>,
{
    fn from(value: &Option<T>) -> Self {
        value.clone().map_or(Self::Nothing, Into::into)
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn csv(note: &str) -> String {
        let as_of = DateTime::from_timestamp(1_781_521_200, 0).expect("an instant");
        let mut sheet = Sheet::new(["part", "on_hand", "share", "note"], as_of);
        sheet.push([
            "collet-2.4".into(),
            (-2_i64).into(),
            0.5.into(),
            note.into(),
        ]);
        sheet.csv()
    }

    #[test]
    fn the_first_line_names_the_columns_and_each_row_has_its_instant() {
        // 1781521200 s after 1970 is 15 June 2026, 11:00 UTC.
        assert_eq!(
            csv("split"),
            "part,on_hand,share,note,as_of\r\ncollet-2.4,-2,0.5,split,2026-06-15T11:00:00Z\r\n"
        );
    }

    #[test]
    fn text_that_a_spreadsheet_would_run_gets_an_apostrophe() {
        for note in ["=1+1", "+1", "-1", "@now", "\tx"] {
            assert!(csv(note).contains(&format!(",'{note},")), "{note}");
        }
        // A carriage return needs quotation marks too.
        assert!(csv("\rx").contains(",\"'\rx\","));
    }

    #[test]
    fn text_with_a_comma_a_quote_or_a_line_end_is_quoted() {
        assert!(csv("3/32\", new").contains(",\"3/32\"\", new\","));
        assert!(csv("two\nlines").contains(",\"two\nlines\","));
    }

    #[test]
    fn a_large_or_small_number_has_no_exponent() {
        assert_eq!(value(&Cell::Real(1e21)), "1000000000000000000000");
        assert_eq!(value(&Cell::Real(0.000_000_1)), "0.0000001");
        assert_eq!(value(&Cell::Nothing), "");
        assert_eq!(value(&Cell::from(&None::<i64>)), "");
    }
}
