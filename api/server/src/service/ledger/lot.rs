//! Lots of what is taken: a lot must have come in, what is on hold is not issued, and a locked
//! procedure wants to know the lot.

use domain::part::PartKind;
use domain::question::QuestionKind;

use super::books::Books;
use super::{Request, names::Names};
use crate::service::questions::NewQuestion;
use crate::service::{Error, codes};
use crate::store::entity::{entries, jobs, parts};

/// A part of a lot at a site: part, site, and the lot in lower case.
pub(super) type LotKey = (i64, i64, String);

/// The key of the lot that an entry names.
pub(super) fn key(part: i64, site: i64, lot: &str) -> LotKey {
    (part, site, codes::key(lot))
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
    let free = book.left - book.on_hold;
    if book.on_hold == 0 || quantity <= free {
        return Ok(());
    }
    let why = format!(
        "lot {lot} is on hold: {} of {} left; release it first, or take another lot",
        book.on_hold, book.left
    );
    Err(Error::invalid("/lot", why))
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
