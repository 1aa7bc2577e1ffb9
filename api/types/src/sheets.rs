//! Sheets: answers of the API as CSV for a spreadsheet. A sheet mirrors a resource and adds nothing
//! to it, so its columns are told where the resource is.

use utoipa::ToSchema;

/// The media type of every sheet: CSV by RFC 4180, whose first line names the columns.
pub const SHEET_MEDIA_TYPE: &str = "text/csv; charset=utf-8; header=present";

/// A sheet: CSV (RFC 4180) in UTF-8, lines ended by CR LF, the names of the columns in the first
/// line, decimals with a full stop, instants by RFC 3339. The last column, `as_of`, is the instant
/// that the row stands for. Text that a spreadsheet would run as a formula has an apostrophe before it.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String)]
pub struct SheetText(pub String);
