//! A sheet of offers: each row an offer, or the new price of one.

use super::cells::Cells;
use super::set_up::{self, Prepared};
use super::{Batch, Judged};
use crate::service::offers::OfferRow;
use crate::service::{Context, Error};

/// Every column that means something.
pub(super) const MEANS: [&str; 8] = [
    "offer",
    "supplier",
    "part",
    "pack_size",
    "price",
    "currency",
    "breaks",
    "none_until",
];

/// Judges rows of offers, and sets up what is right.
///
/// # Errors
/// Nothing can be written.
pub(super) async fn push(context: &Context, sheet: &Batch<'_>) -> Result<Vec<Judged>, Error> {
    set_up::push(context, sheet.how(), sheet.read(prepare)).await
}

fn prepare(mut cells: Cells<'_>) -> Prepared<OfferRow> {
    cells.require(&["supplier", "part", "pack_size", "price"]);
    let new = OfferRow {
        supplier: cells.text("supplier").unwrap_or_default(),
        part: cells.no_date("part").unwrap_or_default(),
        pack_size: cells.whole("pack_size").unwrap_or_default(),
        price: cells.decimal("price").unwrap_or_default(),
        currency: cells.text("currency"),
        breaks: cells.has("breaks").then(|| breaks(&mut cells)),
        none_until: cells.has("none_until").then(|| cells.day("none_until")),
    };
    cells.read(new)
}

/// `10:38.00; 20:35.00`: from so many packs on, each at that price.
fn breaks(cells: &mut Cells<'_>) -> Vec<(i64, String)> {
    let text = cells.cell("breaks").unwrap_or_default();
    let mut told = Vec::new();
    for lower in text.split(';').map(str::trim).filter(|it| !it.is_empty()) {
        match price_break(cells, lower) {
            Some(read) => told.push(read),
            None => cells.faults.push(format!(
                "breaks: \"{lower}\" is no price break; write 10:38.00 for 38.00 a pack from 10 packs on"
            )),
        }
    }
    told
}

fn price_break(cells: &Cells<'_>, text: &str) -> Option<(i64, String)> {
    let (packs, price) = text.split_once(':')?;
    Some((packs.trim().parse().ok()?, cells.figure(price.trim()).ok()?))
}
