//! A stocktake: many counts at once, each judged alone. What lies in several drawers is counted
//! drawer by drawer and stands as one count of the part at its site. How a count is recorded is in
//! `ledger`.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;
use types::{BATCH_MAX, Counted, KeptAside, NewCount, NewCountBatch};

use super::keys::Caller;
use super::ledger::{self, ACCEPTED, Answer, Body, Request, batch_id, hash};
use super::replies::Asked;
use super::{Context, Error};
use crate::store;

mod sitting;

use sitting::{Sitting, seated};

/// What became of one count of a batch.
#[derive(Debug)]
pub struct Outcome {
    /// The id that was sent.
    pub id: String,
    /// What became of it, and whether that was told before; or why it was refused.
    pub result: Judged,
}

/// What became of a count that was not refused.
#[derive(Clone, Debug)]
pub enum Became {
    /// It was recorded.
    Counted(Counted),
    /// It was kept aside.
    KeptAside(KeptAside),
}

/// What became of a count, and whether that was told before; or why it was refused.
pub type Judged = Result<(Became, bool), Error>;

/// Judged counts by their place in the batch.
type ByPlace = BTreeMap<usize, Judged>;

/// A count of a batch that can be read.
#[derive(Clone, Debug)]
struct Row {
    /// Its place in the batch.
    index: usize,
    /// Its id.
    key: String,
    /// The hash of what it tells.
    hash: String,
    /// What it tells, without the id.
    count: NewCount,
}

/// Who sends a batch, and when.
#[derive(Clone, Copy, Debug)]
struct Sent {
    caller: Caller,
    now: DateTime<Utc>,
}

/// Records many counts, or only says what would become of them.
pub async fn record_batch(
    context: &Context,
    caller: Caller,
    batch: NewCountBatch,
) -> Result<Vec<Outcome>, Error> {
    let number = batch.counts.len();
    if !(1..=BATCH_MAX).contains(&number) {
        let why = format!("{number} counts; send 1 to {BATCH_MAX} at a time");
        return Err(Error::invalid("/counts", why));
    }
    let keeping = if batch.only_try {
        Keeping::Nothing
    } else {
        Keeping::WhatIsRight
    };
    record_all(context, caller, batch.counts, keeping).await
}

/// How much of a batch is to stay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keeping {
    /// What is right.
    WhatIsRight,
    /// Everything, or nothing if one count needs a person.
    AllOrNone,
    /// Nothing: it is only said what would become of each.
    Nothing,
}

/// The most counts of one sheet. They are written at once, since drawers of a part add up.
const SHEET_MAX: usize = 5_000;

/// Records the counts of a sheet, or only says what would become of them.
///
/// # Errors
/// There are too many, or nothing can be written.
pub async fn record_sheet(
    context: &Context,
    caller: Caller,
    counts: Vec<NewCount>,
    keeping: Keeping,
) -> Result<Vec<Outcome>, Error> {
    let number = counts.len();
    if number > SHEET_MAX {
        let why = format!("{number} counts; cut it into sheets of at most {SHEET_MAX}");
        return Err(Error::invalid("", why));
    }
    record_all(context, caller, counts, keeping).await
}

/// Records counts within a transaction, each judged alone.
///
/// # Errors
/// Nothing can be written.
pub async fn record_within(
    tx: &DatabaseTransaction,
    (caller, now): (Caller, DateTime<Utc>),
    counts: Vec<NewCount>,
) -> Result<Vec<Outcome>, Error> {
    let (ids, mut judged, rows) = read_all(counts);
    judged.extend(judge(tx, Sent { caller, now }, rows).await?);
    Ok(in_order(ids, judged))
}

/// The ids of counts, what is wrong with those that cannot be read, and the others.
fn read_all(counts: Vec<NewCount>) -> (Vec<String>, ByPlace, Vec<Row>) {
    let mut ids = Vec::with_capacity(counts.len());
    let mut judged = ByPlace::new();
    let mut rows = Vec::with_capacity(counts.len());
    for (index, count) in counts.into_iter().enumerate() {
        ids.push(count.id.clone().unwrap_or_default());
        match read(index, count) {
            Ok(row) => rows.push(row),
            Err(error) => {
                judged.insert(index, Err(error));
            }
        }
    }
    (ids, judged, rows)
}

fn in_order(ids: Vec<String>, mut judged: ByPlace) -> Vec<Outcome> {
    let outcomes = ids.into_iter().enumerate().filter_map(|(index, id)| {
        let result = judged.remove(&index)?;
        Some(Outcome { id, result })
    });
    outcomes.collect()
}

async fn record_all(
    context: &Context,
    caller: Caller,
    counts: Vec<NewCount>,
    keeping: Keeping,
) -> Result<Vec<Outcome>, Error> {
    let (ids, mut judged, rows) = read_all(counts);
    let now = context.clock.now();
    let sent = Sent { caller, now };
    let is_wanted = keeping == Keeping::AllOrNone && judged.is_empty();
    let told = if keeping == Keeping::WhatIsRight {
        let work = context
            .writer
            .write(move |tx| Box::pin(judge(tx, sent, rows)));
        work.await?
    } else {
        tried(context, sent, rows, is_wanted).await?
    };
    judged.extend(told);
    Ok(in_order(ids, judged))
}

/// What would become of each; and if that is good for all and is wanted, it does.
async fn tried(
    context: &Context,
    sent: Sent,
    rows: Vec<Row>,
    is_wanted: bool,
) -> Result<ByPlace, Error> {
    let judged = rehearsed(context, sent, rows.clone()).await?;
    if is_wanted && judged.values().all(is_in) && !all(context, sent, rows.clone()).await? {
        // Something else was written in between: what is wrong now is told.
        return rehearsed(context, sent, rows).await;
    }
    Ok(judged)
}

async fn rehearsed(context: &Context, sent: Sent, rows: Vec<Row>) -> Result<ByPlace, Error> {
    let work = context
        .writer
        .rehearse(move |tx| Box::pin(judge(tx, sent, rows)));
    work.await
}

fn is_in(judged: &Judged) -> bool {
    matches!(judged, Ok((Became::Counted(_), _)))
}

/// Records all, or nothing if one of them needs a person; and whether they are in.
async fn all(context: &Context, sent: Sent, rows: Vec<Row>) -> Result<bool, Error> {
    let work = context.writer.write(move |tx| {
        Box::pin(async move {
            let judged = judge(tx, sent, rows).await?;
            if judged.values().all(is_in) {
                return Ok(());
            }
            // What fails is undone.
            Err(Error::WrongState("a count needs a person".to_owned()))
        })
    });
    match work.await {
        Ok(()) => Ok(true),
        Err(Error::WrongState(_)) => Ok(false),
        Err(error) => Err(error),
    }
}

fn read(index: usize, mut count: NewCount) -> Result<Row, Error> {
    let key = batch_id(count.id.take())?;
    count.check()?;
    let hash = hash(("count", &count))?;
    Ok(Row {
        index,
        key,
        hash,
        count,
    })
}

/// Records what can be recorded, and says of each row what became of it.
async fn judge(tx: &DatabaseTransaction, sent: Sent, rows: Vec<Row>) -> Result<ByPlace, Error> {
    let mut judged = ByPlace::new();
    let rows = without_kept(tx, sent, rows, &mut judged).await?;
    // A second row under one id is a repeat of the first, whatever becomes of that.
    let mut seen = BTreeSet::new();
    let (rows, again): (Vec<_>, Vec<_>) = rows
        .into_iter()
        .partition(|row| seen.insert(row.key.clone()));
    let sittings = seated(tx, sent.now, rows, &mut judged).await?;
    let requests = sittings.iter().map(|sitting| sitting.request(sent));
    let answers = ledger::record(tx, requests.collect()).await?;
    for (sitting, answer) in sittings.into_iter().zip(answers) {
        settle(tx, sent, sitting, answer, &mut judged).await?;
    }
    for row in without_kept(tx, sent, again, &mut judged).await? {
        let why = "the row before under the same id was refused; give each row its own";
        judged.insert(row.index, Err(Error::invalid("/id", why)));
    }
    Ok(judged)
}

/// The rows that were not answered before; the others are told what they were told then.
async fn without_kept(
    tx: &DatabaseTransaction,
    Sent { caller, .. }: Sent,
    rows: Vec<Row>,
    judged: &mut ByPlace,
) -> Result<Vec<Row>, Error> {
    let asked = rows.iter().map(|row| (caller.id(), row.key.as_str()));
    let kept = store::replies::find_many(tx, asked).await?;
    let mut fresh = Vec::with_capacity(rows.len());
    for row in rows {
        let Some(kept) = kept.get(&(caller.id(), row.key.clone())) else {
            fresh.push(row);
            continue;
        };
        let told = if kept.request_hash == row.hash {
            let status = u16::try_from(kept.status).unwrap_or(CREATED);
            read_back(status, &kept.body).map(|became| (became, true))
        } else {
            Err(Error::KeyReused(row.key))
        };
        judged.insert(row.index, told);
    }
    Ok(fresh)
}

fn read_back(status: u16, body: &str) -> Result<Became, Error> {
    let reused = |_| Error::KeyReused("the id of this count".to_owned());
    if status == ACCEPTED {
        let aside = serde_json::from_str(body).map_err(reused)?;
        return Ok(Became::KeptAside(aside));
    }
    serde_json::from_str(body)
        .map(Became::Counted)
        .map_err(reused)
}

/// Tells each row of a sitting what became of it, and keeps the answer under the id of each.
async fn settle(
    tx: &DatabaseTransaction,
    sent: Sent,
    sitting: Sitting,
    answer: Result<Answer, Error>,
    judged: &mut ByPlace,
) -> Result<(), Error> {
    let became = answer.and_then(|answer| read_back(answer.status, &answer.body));
    for (place, row) in sitting.rows.into_iter().enumerate() {
        let told = match &became {
            Ok(became) => {
                if place > 0 {
                    keep(tx, sent, (row.key, row.hash), became).await?;
                }
                Ok((became.clone(), false))
            }
            Err(Error::Invalid(violations)) => Err(Error::Invalid(violations.clone())),
            Err(error) => Err(Error::Internal(error.to_string())),
        };
        judged.insert(row.index, told);
    }
    Ok(())
}

/// Keeps an answer under the id of another row of the same sitting.
async fn keep(
    tx: &DatabaseTransaction,
    sent: Sent,
    (key, hash): (String, String),
    became: &Became,
) -> Result<(), Error> {
    let asked = Asked {
        caller: sent.caller,
        key,
        hash,
        now: sent.now.timestamp_micros(),
    };
    match became {
        Became::Counted(counted) => asked.answer(tx, CREATED, counted).await?,
        Became::KeptAside(aside) => asked.answer(tx, ACCEPTED, aside).await?,
    };
    Ok(())
}

/// The status of a count that was recorded: 201 Created.
const CREATED: u16 = 201;

impl Sitting {
    fn request(&self, Sent { caller, now }: Sent) -> Request {
        // The first row stands for all; there is one, or it would be no sitting.
        let (key, hash) = self
            .rows
            .first()
            .map(|row| (row.key.clone(), row.hash.clone()))
            .unwrap_or_default();
        Request {
            caller,
            key,
            hash,
            received_at: now,
            history: false,
            trusted: false,
            body: Body::Count(self.count.clone()),
        }
    }
}
