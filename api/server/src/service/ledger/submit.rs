//! From a body to the writer: what can be checked without the database is checked here, before the
//! entry waits for its turn.

use chrono::TimeDelta;
use data_encoding::HEXLOWER;
use serde::Serialize;
use sha2::{Digest, Sha256};
use types::{
    BATCH_MAX, KeptAside, NewAllocation, NewCount, NewMovement, NewReceipt, NewReversal, NewStub,
    NewTransfer, NewUsage, NewUsageBatch, Recorded, Role,
};

use super::{Answer, Body, Request};
use crate::service::keys::Caller;
use crate::service::{Context, Error};

/// How long sending a batch may take before a difference of clocks is put down to the device.
const SENDING: TimeDelta = TimeDelta::seconds(30);

/// The longest idempotency key; a UUID has 36 characters.
const KEY_MAX: usize = 80;

/// What became of an entry that was not refused.
#[derive(Debug)]
pub enum Became {
    /// It was recorded.
    Recorded(Recorded),
    /// It was kept aside.
    KeptAside(KeptAside),
}

/// What became of one entry of a batch.
#[derive(Debug)]
pub struct Outcome {
    /// The id that was sent.
    pub id: String,
    /// What became of it, and whether that was told before; or why it was refused.
    pub result: Result<(Became, bool), Error>,
}

/// Records use at the bench.
pub async fn record_usage(
    context: &Context,
    caller: Caller,
    key: &str,
    mut new: NewUsage,
) -> Result<Answer, Error> {
    let what = new.check()?;
    check_id(new.id.take(), key)?;
    one(
        context,
        caller,
        key,
        ("usage", &new.clone()),
        Body::Usage(Box::new(new), what),
    )
    .await
}

/// Records a movement.
pub async fn record_movement(
    context: &Context,
    caller: Caller,
    key: &str,
    new: NewMovement,
) -> Result<Answer, Error> {
    let kind = new.check()?;
    one(
        context,
        caller,
        key,
        ("movement", &new.clone()),
        Body::Movement(new, kind),
    )
    .await
}

/// Records a receipt.
pub async fn record_receipt(
    context: &Context,
    caller: Caller,
    key: &str,
    new: NewReceipt,
) -> Result<Answer, Error> {
    new.check()?;
    one(
        context,
        caller,
        key,
        ("receipt", &new.clone()),
        Body::Receipt(new),
    )
    .await
}

/// Records a transfer.
pub async fn record_transfer(
    context: &Context,
    caller: Caller,
    key: &str,
    new: NewTransfer,
) -> Result<Answer, Error> {
    new.check()?;
    one(
        context,
        caller,
        key,
        ("transfer", &new.clone()),
        Body::Transfer(new),
    )
    .await
}

/// Records stubs that went into the jar or came out of it.
pub async fn record_stubs(
    context: &Context,
    caller: Caller,
    key: &str,
    new: NewStub,
) -> Result<Answer, Error> {
    let (what, kind) = new.check()?;
    one(
        context,
        caller,
        key,
        ("stubs", &new.clone()),
        Body::Stubs(new, what, kind),
    )
    .await
}

/// Records a count.
pub async fn record_count(
    context: &Context,
    caller: Caller,
    key: &str,
    mut new: NewCount,
) -> Result<Answer, Error> {
    new.check()?;
    check_id(new.id.take(), key)?;
    one(
        context,
        caller,
        key,
        ("count", &new.clone()),
        Body::Count(new),
    )
    .await
}

/// Promises pieces to a job.
pub async fn record_allocation(
    context: &Context,
    caller: Caller,
    key: &str,
    new: NewAllocation,
) -> Result<Answer, Error> {
    new.check()?;
    one(
        context,
        caller,
        key,
        ("allocation", &new.clone()),
        Body::Allocation(new),
    )
    .await
}

/// Takes an entry back.
pub async fn record_reversal(
    context: &Context,
    caller: Caller,
    key: &str,
    new: NewReversal,
) -> Result<Answer, Error> {
    new.check()?;
    one(
        context,
        caller,
        key,
        ("reversal", &new.clone()),
        Body::Reversal(new),
    )
    .await
}

async fn one(
    context: &Context,
    caller: Caller,
    key: &str,
    told: (&str, &impl Serialize),
    body: Body,
) -> Result<Answer, Error> {
    check_idempotency_key(key)?;
    let request = Request {
        caller,
        key: key.to_owned(),
        hash: hash(told)?,
        received_at: context.clock.now(),
        history: false,
        trusted: false,
        body,
    };
    let mut answers = context.writer.record(vec![request]).await?;
    answers.pop().unwrap_or(Err(Error::Unavailable))
}

/// The key is the id: the same entry in a batch, where it has its id with it, is a repeat.
fn check_id(id: Option<String>, key: &str) -> Result<(), Error> {
    match id.filter(|id| id != key) {
        Some(id) => {
            let why = format!("\"{id}\" is not the Idempotency-Key, \"{key}\"; leave it out");
            Err(Error::invalid("/id", why))
        }
        None => Ok(()),
    }
}

/// The id of an entry of a batch, which must be there and one that can be kept.
///
/// # Errors
/// [`Error::Invalid`] at `/id`.
pub fn batch_id(id: Option<String>) -> Result<String, Error> {
    let missing = "missing; an entry of a batch needs an id, so that a repeat is harmless";
    let id = id.ok_or_else(|| Error::invalid("/id", missing))?;
    check_key(&id).map_err(|why| Error::invalid("/id", why))?;
    Ok(id)
}

/// A key must be one that can be kept and quoted.
///
/// # Errors
/// [`Error::Invalid`] if it is not.
pub fn check_idempotency_key(key: &str) -> Result<(), Error> {
    check_key(key).map_err(|why| Error::invalid("Idempotency-Key", why))
}

fn check_key(key: &str) -> Result<(), String> {
    if key.is_empty() || key.len() > KEY_MAX || !key.bytes().all(|byte| byte.is_ascii_graphic()) {
        return Err(format!(
            "\"{}\" is no id; give 1 to {KEY_MAX} visible ASCII characters, such as a UUID",
            key.escape_default()
        ));
    }
    Ok(())
}

/// The hash of what was told, as it is understood: white space and the order of fields do not count.
pub fn hash((kind, told): (&str, &impl Serialize)) -> Result<String, Error> {
    let told = serde_json::to_vec(told).map_err(|error| Error::Internal(error.to_string()))?;
    let digest = Sha256::new()
        .chain_update(kind)
        .chain_update(b"\n")
        .chain_update(told)
        .finalize();
    Ok(HEXLOWER.encode(&digest))
}

/// Records many entries of use, each judged alone.
pub async fn record_batch(
    context: &Context,
    caller: Caller,
    batch: NewUsageBatch,
) -> Result<Vec<Outcome>, Error> {
    if batch.history {
        caller.require(Role::Keep)?;
    }
    if batch.entries.is_empty() || batch.entries.len() > BATCH_MAX {
        let why = format!(
            "{} entries; send 1 to {BATCH_MAX} at a time",
            batch.entries.len()
        );
        return Err(Error::invalid("/entries", why));
    }
    let (received_at, only_try) = (context.clock.now(), batch.only_try);
    let ahead = batch.device_clock.map(|clock| clock.to_utc() - received_at);
    let ahead = ahead.map(measured);
    let mut outcomes: Vec<Option<Outcome>> = Vec::with_capacity(batch.entries.len());
    let mut requests = Vec::with_capacity(batch.entries.len());
    for entry in batch.entries {
        let id = entry.id.clone().unwrap_or_default();
        match batch_request(caller, received_at, (batch.history, ahead), entry) {
            Ok(request) => {
                outcomes.push(None);
                requests.push(request);
            }
            Err(error) => outcomes.push(Some(Outcome {
                id,
                result: Err(error),
            })),
        }
    }
    let ids: Vec<String> = requests.iter().map(|request| request.key.clone()).collect();
    let answers = if requests.is_empty() {
        Vec::new()
    } else if only_try {
        let work = context
            .writer
            .rehearse(|tx| Box::pin(async { Ok(super::record(tx, requests).await?) }));
        work.await?
    } else {
        context.writer.record(requests).await?
    };
    let mut recorded = ids.into_iter().zip(answers).map(|(id, answer)| Outcome {
        id,
        result: answer.and_then(|answer| read_back(&answer)),
    });
    let fill = |outcome: Option<Outcome>| outcome.or_else(|| recorded.next());
    Ok(outcomes.into_iter().filter_map(fill).collect())
}

fn batch_request(
    caller: Caller,
    received_at: chrono::DateTime<chrono::Utc>,
    (history, ahead): (bool, Option<TimeDelta>),
    mut new: NewUsage,
) -> Result<Request, Error> {
    let key = batch_id(new.id.take())?;
    let what = new.check()?;
    let hash = hash(("usage", &new))?;
    if let Some(ahead) = ahead {
        // After the hash: sent again, the same entry may be measured a second differently.
        new.clock_ahead_seconds = new.clock_ahead_seconds.or(Some(ahead.num_seconds()));
        new.at = new.at.or(new.device_at.map(|at| at - ahead));
    }
    Ok(Request {
        caller,
        key,
        hash,
        received_at,
        history,
        trusted: false,
        body: Body::Usage(Box::new(new), what),
    })
}

/// By how much a device's clock is ahead, in whole seconds. Sending takes time as well, so what is
/// less than [`SENDING`] is no fault of the clock.
fn measured(ahead: TimeDelta) -> TimeDelta {
    if ahead.abs() < SENDING {
        return TimeDelta::zero();
    }
    TimeDelta::seconds(ahead.num_seconds())
}

fn read_back(answer: &Answer) -> Result<(Became, bool), Error> {
    let reused = |_| Error::KeyReused("the id of this entry".to_owned());
    let became = if answer.status == super::aside::ACCEPTED {
        Became::KeptAside(serde_json::from_str(&answer.body).map_err(reused)?)
    } else {
        Became::Recorded(serde_json::from_str(&answer.body).map_err(reused)?)
    };
    Ok((became, answer.repeated))
}
