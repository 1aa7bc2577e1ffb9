//! Allocations: pieces promised to a job. A promise is a row of the ledger like any other, and so is
//! what an issue for the job takes off it.

use domain::ledger::MovementKind;
use sea_orm::DatabaseTransaction;
use types::{Allocated, NewAllocation};

use super::book;
use super::books::Books;
use super::names::Names;
use super::page::{NewRow, Page};
use super::placed::Placed;
use super::{Answer, Request};
use crate::service::{Error, site_rules};
use crate::store;

/// Records how many pieces a job is promised from now on.
pub(super) async fn record(
    tx: &DatabaseTransaction,
    (request, new): (&Request, &NewAllocation),
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let told = new.circumstances();
    let job = names.job(told.job)?.unwrap_or_default();
    let part = names.part(&new.part)?;
    let mut placed = Placed::find(request, told, None, names)?;
    let own_site = store::sites::get_many(tx, [names.site_of_job(job)]).await?;
    if let (None, Some(site)) = (told.site, own_site.first()) {
        placed.site = site;
    }
    let key = (part.id, placed.site.id);
    books.add(tx, std::iter::once(key)).await?;
    let before = books.promised((job, part.id, placed.site.id));
    let change = new.quantity - before;
    if change > 0 {
        let way_out = "promise a permitted class, or pieces of a site that permits it";
        site_rules::check_plan((placed.site, part), "/part", way_out)?;
        names.check_permitted(told.job, part, "promise a permitted part")?;
    }
    let level = book::level(&books.book(key), part, placed.site);
    if change > level.usable() {
        let why = format!(
            "{} of {} cannot be promised to {}: {} available at {}, {before} promised to it before",
            new.quantity,
            part.code,
            new.job,
            level.usable(),
            placed.site.code
        );
        return Err(Error::invalid("/quantity", why));
    }
    let entry = placed.entry(request, "allocation", told);
    if change != 0 {
        let row = NewRow {
            part: part.id,
            site: placed.site.id,
            kind: MovementKind::Allocation,
            quantity: change,
            order: None,
        };
        page.move_part(&entry, row, books)?;
    }
    let stock = books.after(part, placed.site);
    let says = format!(
        "{} {} promised to {}. {}: {} available.",
        new.quantity, part.code, new.job, part.code, stock.available
    );
    let allocated = Allocated {
        entry: entry.id,
        job: new.job.clone(),
        site: placed.site.code.clone(),
        quantity: new.quantity,
        before,
        stock,
        says,
    };
    page.enter(entry);
    page.answer(request, &allocated)
}
