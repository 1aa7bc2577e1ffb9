//! Lots of what is taken: a lot must have come in, what is on hold is not issued, and a locked
//! procedure wants to know the lot.

use domain::ledger::{LotBook, MovementKind};
use domain::part::PartKind;
use domain::question::QuestionKind;

use super::books::Books;
use super::{Body, Request, names::Names};
use crate::service::questions::NewQuestion;
use crate::service::{Error, codes};
use crate::store::entity::{entries, jobs, parts};

/// A part of a lot at a site: part, site, and the lot in lower case.
pub(super) type LotKey = (i64, i64, String);

/// The key of the lot that an entry names.
pub(super) fn key(part: i64, site: i64, lot: &str) -> LotKey {
    (part, site, codes::key(lot))
}

/// Whether an entry releases what is on hold.
pub(super) fn releases(request: &Request) -> bool {
    matches!(request.body, Body::Movement(_, MovementKind::Release))
}

/// A lot must have come in before anything of it can be told.
pub(super) fn check_received(
    request: &Request,
    part: &parts::Model,
    books: &Books,
) -> Result<(), Error> {
    let Some(lot) = request.circumstances().and_then(|told| told.lot) else {
        return Ok(());
    };
    if books.has_lot(part.id, lot) {
        return Ok(());
    }
    let why = format!(
        "lot {lot} of {} was never received; check the packet, receive the lot first, or leave it out",
        part.code
    );
    Err(Error::invalid("/lot", why))
}

/// What is handed out by plan must not be on hold, and must have its lot where a locked procedure
/// wants it.
pub(super) fn check_issue(
    request: &Request,
    (part, quantity, site): (&parts::Model, i64, i64),
    names: &Names,
    books: &Books,
) -> Result<(), Error> {
    let told = request.circumstances().unwrap_or_default();
    match told.lot {
        Some(lot) => check_free(lot, (part, quantity, site), books)?,
        None => {
            if let Some(job) = wants_lot(told.job, part, names) {
                let why = format!(
                    "missing; {} is done by {}, which needs the lot of each {}",
                    job.code,
                    procedure(job),
                    noun(part)
                );
                return Err(Error::invalid("/lot", why));
            }
        }
    }
    Ok(())
}

/// What is on hold of a lot stays where it is.
pub(super) fn check_free(
    lot: &str,
    (part, quantity, site): (&parts::Model, i64, i64),
    books: &Books,
) -> Result<(), Error> {
    let book = books.lot(&key(part.id, site, lot));
    if is_free(book, quantity) {
        return Ok(());
    }
    let why = format!(
        "lot {lot} is on hold: {} of {} left; release it first, or take another lot",
        book.on_hold, book.left
    );
    Err(Error::invalid("/lot", why))
}

/// What is to be said of a use of a lot that is on hold: it is recorded, and not passed over.
pub(super) fn used_on_hold(
    lot: Option<&str>,
    (part, quantity, site): (&parts::Model, i64, i64),
    books: &Books,
) -> String {
    let held = lot.filter(|lot| !is_free(books.lot(&key(part.id, site, lot)), quantity));
    held.map_or_else(String::new, |lot| {
        format!(
            " Lot {lot} of {} is on hold: tell the person responsible.",
            part.code
        )
    })
}

/// Whether so many pieces of a lot may leave a site.
pub(super) fn is_free(book: LotBook, quantity: i64) -> bool {
    book.on_hold == 0 || quantity <= book.free()
}

/// More than what is on hold, of the lot or outside of lots, cannot be released.
pub(super) fn check_release(
    request: &Request,
    (part, quantity, site): (&parts::Model, i64, i64),
    books: &Books,
) -> Result<(), Error> {
    let told = request.circumstances().unwrap_or_default();
    let key = (part.id, site);
    let held = books.held(key, told.lot);
    if quantity <= held {
        return Ok(());
    }
    let code = &part.code;
    let why = match (told.lot, books.book(key).on_hold - held) {
        (Some(lot), _) => {
            format!("{quantity} of lot {lot} of {code} cannot be released: {held} on hold")
        }
        (None, 0) => format!("{quantity} of {code} cannot be released: {held} on hold"),
        (None, as_lots) => format!(
            "{quantity} of {code} cannot be released: {held} on hold outside of lots, and {as_lots} as lots; name the lot"
        ),
    };
    Err(Error::invalid("/quantity", why))
}

/// The question about a use for a job whose procedure wants the lot, if none was told.
pub(super) fn question(
    request: &Request,
    (entry, part): (&entries::Model, &parts::Model),
    names: &Names,
) -> Option<NewQuestion> {
    let told = request.circumstances()?;
    if told.lot.is_some() {
        return None;
    }
    let job = wants_lot(told.job, part, names)?;
    Some(NewQuestion {
        kind: QuestionKind::MissingLot,
        site: entry.site_id,
        part: Some(part.id),
        entry: Some(entry.id),
        other_entry: None,
        subject: format!("lot:{}", entry.id),
        details: serde_json::Value::Null,
        says: format!(
            "{} was used for {}, which is done by {}. Which lot was it?",
            part.code,
            job.code,
            procedure(job)
        ),
    })
}

/// The job, if its procedure wants the lot of such a part.
fn wants_lot<'n>(
    job: Option<&str>,
    part: &parts::Model,
    names: &'n Names,
) -> Option<&'n jobs::Model> {
    let traced = [PartKind::Electrode, PartKind::FillerRod];
    let is_traced = traced.iter().any(|kind| kind.as_str() == part.kind);
    names.job_row(job?).filter(|job| job.locked && is_traced)
}

fn procedure(job: &jobs::Model) -> String {
    job.procedure
        .clone()
        .unwrap_or_else(|| "a locked procedure".to_owned())
}

fn noun(part: &parts::Model) -> &'static str {
    PartKind::parse(&part.kind).map_or("part", PartKind::noun)
}
