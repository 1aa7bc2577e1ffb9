//! Workbooks that a shop opens and uses: a page of instructions with the address and the key to fill in, a sheet to fill
//! in and push back, and cells that ask the service for one figure each.

use types::{CellFigure, SheetForm, SheetTemplate};

use super::Unwritten;

mod formula;
mod ods;
mod pages;
#[cfg(test)]
mod tests;
mod xlsx;

/// The colour of cells that a person fills in: pale, so that it prints.
const INPUT: u32 = 0x00FF_F8DC;

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Put {
    Title(String),
    Text(String),
    Heading(String),
    /// A cell that a person fills in, with what stands there before.
    Input(String),
    /// A figure of what another cell of the same row or page names.
    Live(Live),
}

/// A cell that asks for one figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Live {
    figure: CellFigure,
    /// `part` or `job`.
    of: &'static str,
    /// The row and column of the cell that names it, from 0, and whether it stands on the first page.
    named: (u32, u16),
    on_start: bool,
}

impl Live {
    /// Whether the figure is a number rather than days or a time.
    const fn is_number(self) -> bool {
        !matches!(self.figure, CellFigure::RunOut | CellFigure::OrderBy)
    }
}

/// One sheet of a workbook.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Page {
    name: &'static str,
    /// How wide each column is, in characters.
    widths: Vec<u16>,
    /// So many rows stay in sight.
    frozen: u32,
    cells: Vec<((u32, u16), Put)>,
}

/// What lies in a drawer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stored {
    /// The drawer; empty if the part lies in none.
    pub drawer: String,
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
}

/// A template in a form that workbooks have. `address` is where the service is reached, for the person to check.
///
/// # Errors
/// What a writer of workbooks says that it cannot write; CSV, which has no formulas, among it.
pub fn write(
    template: SheetTemplate,
    form: SheetForm,
    (address, stored): (&str, &[Stored]),
) -> Result<Vec<u8>, Unwritten> {
    let pages = pages::of(template, address, stored);
    match form {
        SheetForm::Xlsx => Ok(xlsx::write(&pages)?),
        SheetForm::Ods => Ok(ods::write(&pages)?),
        SheetForm::Csv => Err(Unwritten("a template is a workbook".to_owned())),
    }
}
