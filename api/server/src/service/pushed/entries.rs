//! Rows that are entries of the ledger: they go through the one writer in batches, or all together where nothing is to
//! stay or all or none.

use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;
use serde::Serialize;
use types::Violation;

use super::answers;
use super::cells::Cells;
use super::{Batch, Judged, refusals};
use crate::service::keys::Caller;
use crate::service::ledger::{self, Answer, Body, Request, batch_id, hash};
use crate::service::{Context, Error};

/// A row as it is sent, with what was guessed; or what is wrong with it.
pub(super) type Prepared = Result<(Entry, String), String>;

/// An entry that could be read.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    key: String,
    hash: String,
    body: Body,
}

/// An entry of a row that could be read, checked as far as it can be without the database.
pub(super) fn checked<T: Serialize>(
    cells: &Cells<'_>,
    (id, kind, new): (String, &str, &T),
    check: impl Fn(&T) -> Result<Body, Vec<Violation>>,
) -> Prepared {
    if !cells.faults.is_empty() {
        return Err(cells.faults.join("; "));
    }
    let whole = || -> Result<Entry, Error> {
        let key = batch_id(Some(id))?;
        let body = check(new)?;
        let hash = hash((kind, new))?;
        Ok(Entry { key, hash, body })
    };
    let entry = whole().map_err(|error| refusals::told(&error))?;
    Ok((entry, cells.notes.join("; ")))
}

/// Records the rows that could be read, and says of each what became of it.
pub(super) async fn push(
    context: &Context,
    caller: Caller,
    sheet: &Batch<'_>,
    rows: Vec<Prepared>,
) -> Result<Vec<Judged>, Error> {
    let how = sheet.how();
    let received_at = context.clock.now();
    let ready = rows.iter().flatten().map(|(entry, _)| entry);
    let requests: Vec<Request> = ready
        .map(|entry| request(entry, (caller, received_at, how.history)))
        .collect();
    let is_whole = requests.len() == rows.len();
    let answers = if requests.is_empty() {
        Vec::new()
    } else if how.only_try || how.all_or_none {
        let is_wanted = how.all_or_none && !how.only_try && is_whole;
        tried(context, requests, is_wanted).await?
    } else {
        context.writer.record(requests).await?
    };
    let refusals = refusals::Refusals::load(context, caller, &rows_told(&rows, &answers)).await?;
    let mut answers = answers.into_iter();
    let mut judged: Vec<Judged> = Vec::with_capacity(rows.len());
    for (row, cells) in rows.into_iter().zip(sheet.rows) {
        let cells = sheet.reader.row(cells);
        let cell = |column: &str| cells.cell(column);
        judged.push(match row {
            Err(why) => Judged::refused(why),
            Ok((entry, note)) => match answers.next() {
                Some(Ok(answer)) => answers::told(&answer, &note, how.only_try),
                Some(Err(error)) => Judged::refused(refusals.why(&error, &entry.key, cell)),
                None => return Err(Error::Unavailable),
            },
        });
    }
    if how.all_or_none {
        super::none_alone(&mut judged);
    }
    Ok(judged)
}

/// The keys of rows whose id came before with another content.
fn rows_told(rows: &[Prepared], answers: &[Result<Answer, Error>]) -> Vec<String> {
    let ready = rows.iter().flatten().map(|(entry, _)| entry);
    let reused = ready
        .zip(answers)
        .filter(|(_, answer)| matches!(answer, Err(Error::KeyReused(_))));
    reused.map(|(entry, _)| entry.key.clone()).collect()
}

fn request(
    entry: &Entry,
    (caller, received_at, history): (Caller, DateTime<Utc>, bool),
) -> Request {
    Request {
        caller,
        key: entry.key.clone(),
        hash: entry.hash.clone(),
        received_at,
        history,
        trusted: false,
        body: entry.body.clone(),
    }
}

type Answers = Vec<Result<Answer, Error>>;

/// What would become of each; and if that is good for all and is wanted, it does.
async fn tried(
    context: &Context,
    requests: Vec<Request>,
    is_wanted: bool,
) -> Result<Answers, Error> {
    let answers = rehearsed(context, requests.clone()).await?;
    if is_wanted && answers.iter().all(is_in) && !all(context, requests.clone()).await? {
        // Something else was written in between: what is wrong now is told.
        return rehearsed(context, requests).await;
    }
    Ok(answers)
}

async fn rehearsed(context: &Context, requests: Vec<Request>) -> Result<Answers, Error> {
    let work = context
        .writer
        .rehearse(move |tx| Box::pin(async move { Ok(ledger::record(tx, requests).await?) }));
    work.await
}

fn is_in(answer: &Result<Answer, Error>) -> bool {
    answer
        .as_ref()
        .is_ok_and(|it| it.status != ledger::ACCEPTED)
}

/// Records all, or nothing if one of them needs a person; and whether they are in.
async fn all(context: &Context, requests: Vec<Request>) -> Result<bool, Error> {
    let work = context
        .writer
        .write(move |tx| Box::pin(all_within(tx, requests)));
    match work.await {
        Ok(()) => Ok(true),
        Err(Error::WrongState(_)) => Ok(false),
        Err(error) => Err(error),
    }
}

async fn all_within(tx: &DatabaseTransaction, requests: Vec<Request>) -> Result<(), Error> {
    let answers = ledger::record(tx, requests).await?;
    if answers.iter().all(is_in) {
        return Ok(());
    }
    // What fails is undone.
    Err(Error::WrongState("a row needs a person".to_owned()))
}
