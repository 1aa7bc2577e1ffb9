//! A sheet of parts: each row a part.

use types::NewPart;

use super::cells::Cells;
use super::set_up::{self, Prepared};
use super::{Batch, Judged};
use crate::service::{Context, Error};

/// Every column that means something; a name and a unit follow from the others.
pub(super) const MEANS: [&str; 18] = [
    "part",
    "kind",
    "name",
    "class",
    "diameter",
    "length",
    "family",
    "cup_number",
    "seat",
    "bore",
    "arrangement",
    "composition",
    "grade",
    "marking",
    "unit",
    "renew_months",
    "renew_removals",
    "note",
];

/// Judges rows of parts, and sets up what is right.
///
/// # Errors
/// Nothing can be written.
pub(super) async fn push(context: &Context, sheet: &Batch<'_>) -> Result<Vec<Judged>, Error> {
    set_up::push(context, sheet.how(), sheet.read(prepare)).await
}

fn prepare(mut cells: Cells<'_>) -> Prepared<NewPart> {
    cells.require(&["part", "kind"]);
    let new = NewPart {
        code: cells.text("part").unwrap_or_default(),
        kind: cells.text("kind").unwrap_or_default(),
        class: cells.text("class"),
        diameter: cells.size("diameter"),
        length: cells.text("length"),
        family: cells.text("family"),
        arrangement: cells.text("arrangement"),
        cup_number: cells.whole("cup_number"),
        bore: cells.size("bore"),
        seat: cells.text("seat"),
        composition: cells.text("composition"),
        marking: cells.text("marking"),
        grade: cells.text("grade"),
        renew_months: cells.whole("renew_months"),
        renew_removals: cells.whole("renew_removals"),
        note: cells.text("note"),
        ..NewPart::default()
    };
    cells.read(new)
}
