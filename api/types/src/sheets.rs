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

/// The form of a sheet, which the end of its address names.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum SheetForm {
    /// Comma-separated values, RFC 4180.
    #[default]
    Csv,
    /// An Office Open XML workbook, ISO/IEC 29500.
    Xlsx,
    /// An `OpenDocument` spreadsheet, ISO/IEC 26300.
    Ods,
}

impl SheetForm {
    /// Every form.
    pub const ALL: [Self; 3] = [Self::Csv, Self::Xlsx, Self::Ods];

    /// The end of its address and of its file's name, without the full stop.
    pub const fn extension(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Xlsx => "xlsx",
            Self::Ods => "ods",
        }
    }

    /// Its media type.
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Csv => SHEET_MEDIA_TYPE,
            Self::Xlsx => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
            Self::Ods => "application/vnd.oasis.opendocument.spreadsheet",
        }
    }

    /// The form of that extension.
    pub fn of_extension(extension: &str) -> Option<Self> {
        let is = |form: &Self| form.extension().eq_ignore_ascii_case(extension);
        Self::ALL.into_iter().find(is)
    }
}

/// The form in the address of a sheet.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct SheetPath {
    /// The form of the sheet.
    #[param(inline)]
    pub form: SheetForm,
}

/// A figure that one cell of a spreadsheet asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CellFigure {
    /// Of a part: on hand, neither promised nor on hold.
    Available,
    /// Of a part: in the drawers.
    OnHand,
    /// Of a part: ordered and not here yet.
    OnOrder,
    /// Of a part that is watched: the inventory position at which it is low.
    OrderPoint,
    /// Of a part: the days between which it runs out with a chance of 90 %, as `2026-07-03 to 2026-09-22`; `later`
    /// for a day that is too far off to tell.
    RunOut,
    /// Of a part that is watched: the chance of not being short before the next delivery. Of a job or course: the
    /// chance that it runs without a stop.
    Chance,
    /// Of a part at its order point, a job or a course: the last local time for the first order, as
    /// `2026-06-24 12:00`; `nothing to order` where there is none.
    OrderBy,
}

impl CellFigure {
    /// Its name in an address.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Available => "available",
            Self::OnHand => "on-hand",
            Self::OnOrder => "on-order",
            Self::OrderPoint => "order-point",
            Self::RunOut => "run-out",
            Self::Chance => "chance",
            Self::OrderBy => "order-by",
        }
    }
}

/// The figure in the address of a cell.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct CellPath {
    /// The figure.
    #[param(inline)]
    pub figure: CellFigure,
}

/// A figure as text and nothing else.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String, example = "7")]
pub struct CellText(pub String);

/// Of what the figure of a cell is: one of part, job and course.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetCell {
    /// The code of a part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The code of a job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// The code of a course.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub course: Option<String>,
    /// The site; the first site unless told. A job or course has its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
}

/// Which rows of a ledger's sheet.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct SheetOfPart {
    /// Only of this part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
}

/// Which rows of the sheet of use.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct SheetOfTorch {
    /// Only of this torch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub torch: Option<String>,
}

/// A workbook, as a file.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String, format = Binary)]
pub struct WorkbookFile(pub Vec<u8>);

/// A table that a sheet is pushed into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum SheetTable {
    /// Counts, a row a count: `drawer`, `part`, `counted`, `counted_at` and `by` must be there; `row_id`, `site` and
    /// `note` may be.
    Counts,
    /// Use, a row an entry: `row_id`, `when`, `torch`, `part`, `qty`, `arc` (with its unit: 75m, 1h20), `grinds`, `job`
    /// and `what` must be there; `site`, `by`, `group`, `lot`, `cut_backs`, `starts`, `amps`, `polarity` and `note` may
    /// be.
    Usage,
    /// Goods that came in, a row a receipt: `when`, `part` and `qty` must be there; `row_id`, `site`, `order`, `lot`,
    /// `by` and `note` may be.
    Receipts,
    /// Courses, a row a course: `date`, `heads` and `stations` must be there; `ends` or `days`, `exercises` (parted by
    /// semicolons), `kit`, `site`, `code` and `name` may be. Without a code a course is called after its day, as
    /// course-0912.
    Courses,
    /// Parts, a row a part: `part` and `kind` must be there; the other fields of a part may be, under their names.
    Parts,
    /// Offers, a row an offer: `supplier`, `part`, `pack_size` and `price` (of a pack) must be there; `currency`,
    /// `breaks` (`10:38.00; 20:35.00`: from so many packs on, each at that price) and `none_until` may be. An offer of
    /// the same part in the same packs by the same supplier gets the new price.
    Offers,
}

impl SheetTable {
    /// Every table.
    pub const ALL: [Self; 6] = [
        Self::Counts,
        Self::Usage,
        Self::Receipts,
        Self::Courses,
        Self::Parts,
        Self::Offers,
    ];

    /// Its name in an address.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Counts => "counts",
            Self::Usage => "usage",
            Self::Receipts => "receipts",
            Self::Courses => "courses",
            Self::Parts => "parts",
            Self::Offers => "offers",
        }
    }
}

/// The table in the address of a sheet that is pushed.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct SheetTablePath {
    /// The table.
    #[param(inline)]
    pub table: SheetTable,
}

/// How a sheet is pushed.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct PushSheet {
    /// Whether to say only what would become of each row, and change nothing.
    #[serde(default, rename = "try", skip_serializing_if = "std::ops::Not::not")]
    pub only_try: bool,
    /// Whether nothing goes in unless every row does.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub all_or_none: bool,
    /// Whether the rows are history, taken over at set-up: they may be older than 90 days. Needs the role `keep`.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub history: bool,
    /// When, for rows that do not say: RFC 3339, or a day and a time of the site's clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15 18:00")]
    pub at: Option<String>,
    /// By whom, for rows that do not say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "helper")]
    pub by: Option<String>,
    /// The site, for rows that do not say; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// `,` if decimals are written with a comma; a full stop unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = ",")]
    pub decimal: Option<String>,
    /// The name of the file, where the `Content-Type` does not tell its form.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "counts.xlsx")]
    pub name: Option<String>,
    /// Of a long file that is sent in parts, each with its header: the line of the whole file on which the first row
    /// below the header of this part stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, example = 20_002)]
    pub from_line: Option<u64>,
}

/// The file of a sheet: CSV (parted by commas, semicolons or tabs, in UTF-8, UTF-16 or the code page of western Europe),
/// XLSX or ODS.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String, format = Binary)]
pub struct SheetFile(pub Vec<u8>);

/// A sheet that was pushed, with what became of each row.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PushedSheet {
    /// The table that it was pushed into.
    pub table: SheetTable,
    /// The sum in one line.
    #[schema(example = "41 rows: 38 in, 1 already in, 2 need you.")]
    pub says: String,
    /// Whether nothing has changed.
    #[serde(rename = "try")]
    pub only_tried: bool,
    /// The line on which the names of its columns stand.
    pub header: u64,
    /// The names of its columns.
    pub columns: Vec<String>,
    /// Its rows, without those that are empty.
    pub rows: Vec<JudgedRow>,
}

/// A row of a sheet that was pushed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct JudgedRow {
    /// Its line in the sheet, from 1.
    pub line: u64,
    /// Its cells, by column.
    pub cells: Vec<String>,
    /// `in`, `already in` or `refused`; `kept aside` and `blank` where these can be; `not in` if nothing goes in since
    /// another row is not right.
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
