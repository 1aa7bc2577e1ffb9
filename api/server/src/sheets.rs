//! Sheets as files: in which form a table of rows goes out and comes in. Nothing here knows the database, what the
//! columns mean, or HTTP.

pub mod reading;

/// The form of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Text parted by commas (RFC 4180), semicolons or tabs.
    Csv,
    /// A workbook of Office Open XML (ISO/IEC 29500).
    Xlsx,
    /// A spreadsheet of OpenDocument (ISO/IEC 26300).
    Ods,
}

impl Form {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Csv, Self::Xlsx, Self::Ods];

    /// What the name of such a file ends with, without the full stop.
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
            Self::Csv => "text/csv",
            Self::Xlsx => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
            Self::Ods => "application/vnd.oasis.opendocument.spreadsheet",
        }
    }
}
