//! Sheets: answers of the API as CSV for a spreadsheet. A sheet mirrors a resource and adds nothing
//! to it, so its columns are told where the resource is.

use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// The media type of every sheet: CSV by RFC 4180, whose first line names the columns.
pub const SHEET_MEDIA_TYPE: &str = "text/csv; charset=utf-8; header=present";

/// A sheet: CSV (RFC 4180) in UTF-8, lines ended by CR LF, the names of the columns in the first
/// line, decimals with a full stop, instants by RFC 3339. The last column, `as_of`, is the instant
/// that the row stands for. Text that a spreadsheet would run as a formula has an apostrophe before it.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String)]
pub struct SheetText(pub String);

/// How a sheet is pushed.
#[derive(Clone, Copy, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct PushSheet {
    /// Whether to say only what would become of each row, and change nothing.
    #[serde(default, rename = "try")]
    pub only_try: bool,
}

/// A sheet that was pushed, with what became of each row.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PushedSheet {
    /// The sum in one line.
    #[schema(example = "2 rows: 1 in, 1 needs you.")]
    pub says: String,
    /// Whether nothing has changed.
    #[serde(rename = "try")]
    pub only_tried: bool,
    /// The names of its columns.
    pub columns: Vec<String>,
    /// Its rows, without those that are empty.
    pub rows: Vec<JudgedRow>,
}

/// A row of a sheet that was pushed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct JudgedRow {
    /// Its line in the sheet; the header is line 1.
    pub line: u64,
    /// Its cells, by column.
    pub cells: Vec<String>,
    /// `in`, `already in` or `refused`.
    #[schema(example = "refused")]
    pub result: String,
    /// What to do about it, or to know; empty if there is nothing.
    #[schema(example = "kit: missing; name the kit that each station is fitted with")]
    pub what_to_do: String,
}

/// A page to print, as HTML.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String)]
pub struct HtmlPage(pub String);
