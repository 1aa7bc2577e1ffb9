//! A sheet of receipts: each row goods that came in.

use types::NewReceipt;

use super::cells::Cells;
use super::entries::{self, Prepared};
use super::{Batch, Judged};
use crate::service::keys::Caller;
use crate::service::ledger::Body;
use crate::service::{Context, Error};

/// What a row without an id of its own is known by.
const TOLD: [&str; 8] = ["when", "site", "part", "qty", "order", "lot", "by", "note"];
/// Every column that means something.
pub(super) const MEANS: [&str; 9] = [
    "row_id", "when", "site", "part", "qty", "order", "lot", "by", "note",
];

/// Judges rows of receipts, and records what is right.
///
/// # Errors
/// Nothing can be written.
pub(super) async fn push(
    context: &Context,
    caller: Caller,
    sheet: &Batch<'_>,
) -> Result<Vec<Judged>, Error> {
    entries::push(context, caller, sheet, sheet.read(prepare)).await
}

fn prepare(mut cells: Cells<'_>) -> Prepared {
    let id = cells.id(&TOLD, &[]);
    cells.require(&["part", "qty"]);
    let new = NewReceipt {
        part: cells.text("part").unwrap_or_default(),
        quantity: cells.whole("qty").unwrap_or_default(),
        order: cells.whole("order"),
        at: cells.instant("when"),
        lot: cells.text("lot"),
        site: cells.site(),
        by: cells.by(),
        note: cells.text("note"),
        ..NewReceipt::default()
    };
    entries::checked(&cells, (id, "receipt", &new), |new| {
        new.check()?;
        Ok(Body::Receipt(new.clone()))
    })
}
