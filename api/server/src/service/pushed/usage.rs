//! A sheet of use: each row an entry.

use types::{NewUsage, Role};

use super::cells::{Cells, Reader};
use super::entries::{self, Prepared};
use super::{Judged, Pushing, zones};
use crate::service::keys::Caller;
use crate::service::ledger::Body;
use crate::service::{Context, Error};
use crate::sheets::reading::Table;

/// What a row without an id of its own is known by, and what was added to that later.
const TOLD: [&str; 10] = [
    "site", "when", "torch", "part", "qty", "arc", "grinds", "job", "what", "by",
];
const MORE: [&str; 7] = [
    "cut_backs",
    "starts",
    "amps",
    "polarity",
    "group",
    "lot",
    "note",
];
/// Every column that means something.
pub(super) const MEANS: [&str; 18] = [
    "row_id",
    "when",
    "torch",
    "part",
    "what",
    "qty",
    "arc",
    "grinds",
    "cut_backs",
    "starts",
    "amps",
    "polarity",
    "group",
    "job",
    "site",
    "lot",
    "by",
    "note",
];

/// Judges a sheet of use, and records what is right.
///
/// # Errors
/// The sheet cannot be taken as a whole, or nothing can be written.
pub(super) async fn push(
    context: &Context,
    caller: Caller,
    table: &Table,
    how: &Pushing,
) -> Result<Vec<Judged>, Error> {
    if how.history {
        caller.require(Role::Keep)?;
    }
    let reader = Reader::new(table, how, zones(context, table, how).await?);
    let rows = table
        .rows
        .iter()
        .map(|row| prepare(reader.row(row)))
        .collect();
    entries::push(context, (caller, how), table, rows).await
}

fn prepare(mut cells: Cells<'_>) -> Prepared {
    let id = cells.id(&TOLD, &MORE);
    let new = NewUsage {
        torch: cells.text("torch"),
        what: cells.text("what"),
        part: cells.text("part"),
        qty: cells.whole("qty"),
        arc_minutes: cells.arc(),
        grinds: cells.whole("grinds"),
        cut_backs: cells.whole("cut_backs"),
        starts: cells.whole("starts"),
        amps: cells.whole("amps"),
        polarity: cells.text("polarity"),
        at: cells.instant("when"),
        group: cells.text("group"),
        job: cells.text("job"),
        lot: cells.text("lot"),
        site: cells.site(),
        by: cells.by(),
        note: cells.text("note"),
        ..NewUsage::default()
    };
    entries::checked(&cells, (id, "usage", &new), |new| {
        let what = new.check()?;
        Ok(Body::Usage(Box::new(new.clone()), what))
    })
}
