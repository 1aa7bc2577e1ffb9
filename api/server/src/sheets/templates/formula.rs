//! The formula of a cell that asks for one figure, in the two languages of workbooks: that of Office Open XML and
//! `OpenFormula` (ISO/IEC 26300-2).

use rust_xlsxwriter::utility::column_number_to_name;

use super::Live;
use super::pages::{ADDRESS, KEY, START};

/// What a cell shows where there is no figure.
pub(super) const NO_ANSWER: &str = "no answer";

/// How a language writes what differs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Language {
    OfficeOpenXml,
    OpenFormula,
}

impl Language {
    /// A cell, on the first page or on the same one.
    fn cell(self, (row, column): (u32, u16), on_start: bool) -> String {
        let (name, row) = (column_number_to_name(column), row + 1);
        match (self, on_start) {
            (Self::OfficeOpenXml, false) => format!("{name}{row}"),
            (Self::OfficeOpenXml, true) => format!("{START}!${name}${row}"),
            (Self::OpenFormula, false) => format!("[.{name}{row}]"),
            (Self::OpenFormula, true) => format!("[${START}.${name}${row}]"),
        }
    }

    /// The names of functions that came late carry where they came from.
    const fn prefix(self) -> &'static str {
        match self {
            Self::OfficeOpenXml => "_xlfn.",
            Self::OpenFormula => "COM.MICROSOFT.",
        }
    }

    const fn separator(self) -> &'static str {
        match self {
            Self::OfficeOpenXml => ",",
            Self::OpenFormula => ";",
        }
    }
}

/// The formula, with its equals sign: nothing where nothing is named, and [`NO_ANSWER`] where there is no figure.
pub(super) fn of(live: Live, language: Language) -> String {
    let named = language.cell(live.named, live.on_start);
    let (address, key) = (language.cell(ADDRESS, true), language.cell(KEY, true));
    let (figure, of) = (live.figure.as_str(), live.of);
    let (prefix, next) = (language.prefix(), language.separator());
    let asked = format!(
        "{prefix}WEBSERVICE({address}&\"/v1/cell/{figure}?{of}=\"&{prefix}ENCODEURL({named})&\"&key=\"&{key})"
    );
    let asked = if live.is_number() {
        format!("VALUE({asked})")
    } else {
        asked
    };
    format!("=IF({named}=\"\"{next}\"\"{next}IFERROR({asked}{next}\"{NO_ANSWER}\"))")
}
