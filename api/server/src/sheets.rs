//! Sheets: rows under named columns, as CSV (RFC 4180), as an Office Open XML workbook (ISO/IEC 29500) and as an
//! `OpenDocument` spreadsheet (ISO/IEC 26300). This is the one place that writes and reads them, and it knows neither
//! the database nor HTTP; what stands in the rows of a sheet is told by `http::sheets`.

use chrono::{DateTime, FixedOffset, NaiveDate, SecondsFormat, Utc};
use domain::quantity::{Currency, Money};
use types::SheetForm;

pub mod csv;
mod ods;
pub mod reading;
pub mod returned;
pub mod templates;
mod xlsx;

/// The last column of every sheet: the instant that the row stands for, so that an old copy shows.
const AS_OF: &str = "as_of";
/// The narrowest and the widest column of a workbook, in characters.
const WIDTHS: (usize, usize) = (6, 60);
/// So many rows go into a workbook, which is made in memory; CSV has no such limit.
pub const WORKBOOK_ROWS_MAX: usize = 50_000;

/// What stands in one place of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Text, which a spreadsheet never runs as a formula.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number, written with a full stop.
    Real(f64),
    /// An amount of money in its currency, written with the decimals of that currency.
    Money(Money),
    /// The product of two columns of the same row, counted from 0, with its value: a formula in a workbook.
    Product([u16; 2], Money),
    /// A day.
    Day(NaiveDate),
    /// An instant; a workbook, which knows no offsets, shows it as the clock of its offset did.
    Instant(DateTime<FixedOffset>),
    /// Nothing.
    Nothing,
}

/// Rows under `N` named columns. The names and their order never change; a new column comes last.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet<const N: usize> {
    title: &'static str,
    columns: [&'static str; N],
    rows: Vec<[Cell; N]>,
    as_of: DateTime<Utc>,
    totals: Vec<u16>,
}

/// A sheet as the writers see it, however many columns it has.
struct Plain<'a> {
    title: &'a str,
    columns: &'a [&'static str],
    rows: Vec<&'a [Cell]>,
    as_of: DateTime<Utc>,
    totals: &'a [u16],
}

impl<const N: usize> Sheet<N> {
    /// A sheet of these columns without rows, which stands for an instant. The title names the sheet in a workbook
    /// and its file: at most 31 letters, digits and hyphens.
    pub fn new(title: &'static str, columns: [&'static str; N], as_of: DateTime<Utc>) -> Self {
        Self {
            title,
            columns,
            rows: Vec::new(),
            as_of,
            totals: Vec::new(),
        }
    }

    /// The same with the sum of a column, counted from 0, below the rows of a workbook. CSV has none: one table, and
    /// nothing else.
    #[must_use]
    pub fn with_total(mut self, column: u16) -> Self {
        self.totals.push(column);
        self
    }

    /// Adds a row.
    pub fn push(&mut self, row: [Cell; N]) {
        self.rows.push(row);
    }

    /// How many rows there are.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there are no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The name of its file in a form.
    pub fn file_name(&self, form: SheetForm) -> String {
        format!("{}.{}", self.title, form.extension())
    }

    /// The sheet in a form.
    ///
    /// # Errors
    /// What a writer of workbooks says that it cannot write.
    pub fn write(&self, form: SheetForm) -> Result<Vec<u8>, Unwritten> {
        let plain = self.plain();
        match form {
            SheetForm::Csv => Ok(csv::all(&plain)),
            SheetForm::Xlsx => Ok(xlsx::write(&plain)?),
            SheetForm::Ods => Ok(ods::write(&plain)?),
        }
    }

    /// The rows alone as CSV, to come after what was written before.
    pub fn csv_rows(&self) -> Vec<u8> {
        csv::rows(&self.plain())
    }

    fn plain(&self) -> Plain<'_> {
        Plain {
            title: self.title,
            columns: &self.columns,
            rows: self.rows.iter().map(<[Cell; N]>::as_slice).collect(),
            as_of: self.as_of,
            totals: &self.totals,
        }
    }
}

/// Why a workbook was not written: a fault of ours, since every text and number of a sheet can be written.
#[derive(Debug, thiserror::Error)]
#[error("the sheet cannot be written: {0}")]
pub struct Unwritten(String);

impl From<rust_xlsxwriter::XlsxError> for Unwritten {
    fn from(error: rust_xlsxwriter::XlsxError) -> Self {
        Self(error.to_string())
    }
}

impl From<spreadsheet_ods::OdsError> for Unwritten {
    fn from(error: spreadsheet_ods::OdsError) -> Self {
        Self(error.to_string())
    }
}

impl Plain<'_> {
    /// The names of the columns, `as_of` last.
    fn names(&self) -> impl Iterator<Item = &'static str> {
        self.columns.iter().copied().chain([AS_OF])
    }

    /// The sums of the columns that have one, as currency or number.
    fn total(&self, column: u16) -> f64 {
        let cells = self
            .rows
            .iter()
            .filter_map(|row| row.get(usize::from(column)));
        cells.filter_map(Cell::number).sum()
    }

    /// How many characters wide a column is shown: as its name and its longest text, within bounds.
    fn width(&self, column: usize, name: &str) -> usize {
        let cells = self.rows.iter().filter_map(|row| row.get(column));
        let longest = cells.map(|cell| csv::value(cell).chars().count()).max();
        let widest = longest.unwrap_or(0).max(name.chars().count()) + 2;
        widest.clamp(WIDTHS.0, WIDTHS.1)
    }

    /// What is told beside the rows of a workbook.
    fn about(&self) -> [(&'static str, String); 4] {
        let as_of = self.as_of.to_rfc3339_opts(SecondsFormat::AutoSi, true);
        let times = "times are those of the clock at the site of the row; as_of is in UTC";
        [
            ("sheet", self.title.to_owned()),
            ("as_of", as_of),
            ("times", times.to_owned()),
            ("rows", self.rows.len().to_string()),
        ]
    }
}

impl Cell {
    /// Its number, if it has one; of money in the main unit of its currency.
    fn number(&self) -> Option<f64> {
        match self {
            Self::Whole(number) => Some(real(*number)),
            Self::Real(number) => Some(*number),
            Self::Money(money) | Self::Product(_, money) => Some(main_unit(*money)),
            Self::Text(_) | Self::Day(_) | Self::Instant(_) | Self::Nothing => None,
        }
    }

    /// An amount of money, if its currency is known; nothing else can be in a sheet of ours.
    pub fn money(minor: i64, currency: &str) -> Self {
        amount(minor, currency).map_or(Self::Nothing, Self::Money)
    }

    /// An amount of money that is the product of two columns of its row, counted from 0.
    pub fn product(of: [u16; 2], minor: i64, currency: &str) -> Self {
        amount(minor, currency).map_or(Self::Nothing, |money| Self::Product(of, money))
    }
}

fn amount(minor: i64, currency: &str) -> Option<Money> {
    Money::new(minor, Currency::parse(currency).ok()?).ok()
}

/// A whole number as spreadsheets keep it.
fn real(number: i64) -> f64 {
    #[expect(
        clippy::cast_precision_loss,
        reason = "a spreadsheet keeps every number as one of these, exact up to 2^53"
    )]
    let number = number as f64;
    number
}

/// Money in the main unit of its currency.
fn main_unit(money: Money) -> f64 {
    real(money.minor()) / 10_f64.powi(i32::try_from(money.currency().minor_digits()).unwrap_or(0))
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

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
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

impl From<NaiveDate> for Cell {
    fn from(day: NaiveDate) -> Self {
        Self::Day(day)
    }
}

impl From<DateTime<FixedOffset>> for Cell {
    fn from(instant: DateTime<FixedOffset>) -> Self {
        Self::Instant(instant)
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

#[cfg(test)]
mod tests;
