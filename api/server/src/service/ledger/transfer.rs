//! Transfers: one entry, with a row out at one site and a row in at the other, so that nothing is
//! ever between the two.

use domain::ledger::MovementKind;
use types::{NewTransfer, Recorded, StockAfter};

use super::book;
use super::books::Books;
use super::names::Names;
use super::page::{NewRow, Page};
use super::placed::Placed;
use super::{Answer, Request, cautions, lot, words};
use crate::service::{Error, site_rules};
use crate::store::entity::{parts, sites};

/// Moves pieces to another site.
pub(super) fn record(
    request: &Request,
    transfer: &NewTransfer,
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let from = names.named_site("/from", &transfer.from)?;
    let to = names.named_site("/to", &transfer.to)?;
    let told = transfer.circumstances();
    let placed = Placed::find(request, told, None, names)?;
    let part = names.part(&transfer.part)?;
    let way_out = "nothing was moved; choose a site that permits it";
    site_rules::check_plan((to, part), "/to", way_out)?;
    check_there(part, from, transfer.quantity, books)?;
    lot::check_received(request, part, books)?;
    if let Some(lot) = told.lot {
        lot::check_free(lot, (part, transfer.quantity, from.id), books)?;
    }
    let mut entry = placed.entry(request, "transfer", told);
    entry.why.clone_from(&transfer.why);
    for (site, quantity) in [(from, -transfer.quantity), (to, transfer.quantity)] {
        let row = NewRow {
            part: part.id,
            site: site.id,
            kind: MovementKind::Transfer,
            quantity,
            order: None,
        };
        page.move_part(&entry, row, books)?;
    }
    let stock = [from, to].map(|site| StockAfter {
        site: Some(site.code.clone()),
        ..books.after(part, site)
    });
    let recorded = Recorded {
        entry: entry.id,
        says: words::transfer(transfer.quantity, &stock),
        cautions: cautions::of_parts(cautions::of_movement(MovementKind::Transfer), &[part]),
        stock: stock.to_vec(),
        questions: Vec::new(),
        differences: Vec::new(),
    };
    page.enter(entry);
    page.answer(request, &recorded)
}

/// Only what is there, is not promised and was not set aside can be moved.
fn check_there(
    part: &parts::Model,
    from: &sites::Model,
    quantity: i64,
    books: &Books,
) -> Result<(), Error> {
    let movable = book::level(&books.book((part.id, from.id)), part, from).movable();
    if quantity <= movable {
        return Ok(());
    }
    let (code, site) = (&part.code, &from.code);
    let why = format!(
        "{quantity} of {code} cannot be moved: {movable} can be, by the book of {site}; move fewer, or count it first"
    );
    Err(Error::invalid("/quantity", why))
}
