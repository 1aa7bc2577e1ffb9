//! A sheet of use: each row an entry.

use types::NewUsage;

use super::cells::Cells;
use super::entries::{self, Prepared};
use super::{Batch, Judged};
use crate::service::keys::Caller;
use crate::service::ledger::Body;
use crate::service::{Context, Error};

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

/// Judges rows of use, and records what is right.
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
