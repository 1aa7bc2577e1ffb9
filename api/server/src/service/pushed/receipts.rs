//! A sheet of receipts: each row goods that came in.

use types::NewReceipt;

use super::cells::{Cells, Reader};
use super::entries::{self, Prepared};
use super::{Judged, Pushing, zones};
use crate::service::keys::Caller;
use crate::service::ledger::Body;
use crate::service::{Context, Error};
use crate::sheets::reading::Table;

/// What a row without an id of its own is known by.
const TOLD: [&str; 8] = ["when", "site", "part", "qty", "order", "lot", "by", "note"];
/// Every column that means something.
pub(super) const MEANS: [&str; 9] = [
    "row_id", "when", "site", "part", "qty", "order", "lot", "by", "note",
];

/// Judges a sheet of receipts, and records what is right.
///
/// # Errors
/// The sheet cannot be taken as a whole, or nothing can be written.
pub(super) async fn push(
    context: &Context,
    caller: Caller,
    table: &Table,
    how: &Pushing,
) -> Result<Vec<Judged>, Error> {
    let reader = Reader::new(table, how, zones(context, table, how).await?);
    let rows = table
        .rows
        .iter()
        .map(|row| prepare(reader.row(row)))
        .collect();
    entries::push(context, (caller, how), table, rows).await
}

fn prepare(mut cells: Cells<'_>) -> Prepared {
    let id = cells.id(&TOLD, &[]);
    for column in ["part", "qty"] {
        if cells.cell(column).is_none() {
            cells.faults.push(format!("{column}: missing; fill it in"));
        }
    }
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
