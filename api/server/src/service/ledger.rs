//! Recording: what people tell becomes rows of the ledger, and the levels and sums that follow from
//! them are brought up to date in the same transaction. Entries that wait together are written as a
//! set: a dozen statements for all of them, however many they are.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use domain::ledger::MovementKind;
use sea_orm::DatabaseTransaction;
use types::{
    NewAllocation, NewCount, NewMovement, NewReceipt, NewReversal, NewStub, NewTransfer, NewUsage,
    StubKind, StubMove, What,
};

use super::{Error, keys::Caller};
use crate::store;

mod allocation;
mod arrival;
mod aside;
mod barred;
pub mod book;
mod books;
mod cautions;
mod clocks;
mod count;
mod difference;
mod doubles;
mod entry;
mod lists;
mod lot;
mod names;
mod negative;
mod off_procedure;
mod page;
mod parcels;
mod placed;
mod plan;
mod remembered;
mod reversal;
mod stub;
mod submit;
mod sums;
mod transfer;
mod variances;
mod wear_shares;
mod words;

pub use lists::{list_counts, list_movements, list_usage};
pub use submit::{
    record_allocation, record_batch, record_count, record_movement, record_receipt,
    record_reversal, record_stubs, record_transfer, record_usage,
};

pub use aside::{ACCEPTED, Aside};
pub use books::{Books, Key, Moved, Worn};
pub use difference::differences;
pub use doubles::Double;
pub use entry::get_entry;
pub use remembered::Remembered;
pub(crate) use stub::is_known;
pub use submit::{Became, Outcome, batch_id, check_idempotency_key, hash};
pub use sums::sum_usage;
pub use variances::{Parcel, Variance, variance};
pub(crate) use wear_shares::shares;

use names::Names;
use page::Page;

/// How many entries are written as one set.
const SET: usize = 500;

/// Something that a person told, checked as far as it can be without the database.
#[derive(Clone, Debug)]
pub struct Request {
    /// Who tells it.
    pub caller: Caller,
    /// The id that makes a repeat harmless.
    pub key: String,
    /// What was told, as a hash: the same key with another hash is refused.
    pub hash: String,
    /// When the service heard of it.
    pub received_at: DateTime<Utc>,
    /// Whether it is history, taken over at set-up.
    pub history: bool,
    /// Whether its date is taken as it is: a person has looked at it.
    pub trusted: bool,
    /// What was told.
    pub body: Body,
}

/// What was told.
#[derive(Clone, Debug)]
pub enum Body {
    /// Use at the bench.
    Usage(Box<NewUsage>, Option<What>),
    /// A movement.
    Movement(NewMovement, MovementKind),
    /// Goods came in.
    Receipt(NewReceipt),
    /// Somebody counted.
    Count(NewCount),
    /// Pieces moved to another site.
    Transfer(NewTransfer),
    /// Stubs went into the jar or came out of it, without a torch.
    Stubs(NewStub, StubMove, StubKind),
    /// Pieces are promised to a job.
    Allocation(NewAllocation),
    /// An entry is taken back.
    Reversal(NewReversal),
}

impl Body {
    /// Whether it can be planned beside others; the rest needs questions to the database of its own.
    fn is_plain(&self) -> bool {
        match self {
            Self::Usage(usage, what) => *what != Some(What::Stub) && !clocks::is_read(usage),
            Self::Movement(..) | Self::Transfer(_) => true,
            Self::Receipt(receipt) => receipt.order.is_none(),
            Self::Count(_) | Self::Allocation(_) | Self::Stubs(..) | Self::Reversal(_) => false,
        }
    }
}

/// The answer to an entry, the same for every repeat.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The status of the first answer.
    pub status: u16,
    /// Its body, JSON.
    pub body: String,
    /// Whether it was given before.
    pub repeated: bool,
}

/// Records entries, each with an answer of its own; what is refused harms no other.
///
/// # Errors
/// The transaction itself is lost, and with it all answers.
pub async fn record(
    tx: &DatabaseTransaction,
    requests: Vec<Request>,
) -> Result<Vec<Result<Answer, Error>>, store::Error> {
    record_with(tx, requests, &mut Remembered::default()).await
}

/// The same with what was looked up before. What the transaction itself changed since must not be among it.
///
/// # Errors
/// The transaction itself is lost, and with it all answers.
pub async fn record_with(
    tx: &DatabaseTransaction,
    requests: Vec<Request>,
    remembered: &mut Remembered,
) -> Result<Vec<Result<Answer, Error>>, store::Error> {
    let mut answers = Vec::with_capacity(requests.len());
    for set in sets(&requests) {
        match attempt(tx, set, remembered).await? {
            Ok(set) => answers.extend(set),
            Err(error) if set.len() == 1 => answers.push(Err(error)),
            Err(_) => {
                // One of them spoiled the set; alone, each succeeds or fails for itself.
                for request in set {
                    let alone = attempt(tx, std::slice::from_ref(request), remembered).await?;
                    answers.extend(alone.unwrap_or_else(|error| vec![Err(error)]));
                }
            }
        }
    }
    Ok(answers)
}

/// Cuts requests into sets: plain ones together, any other alone.
fn sets(requests: &[Request]) -> impl Iterator<Item = &[Request]> {
    requests
        .chunk_by(|a, b| a.body.is_plain() && b.body.is_plain())
        .flat_map(|run| run.chunks(SET))
}

/// Writes a set, or nothing of it. The outer error is that of the transaction.
async fn attempt(
    tx: &DatabaseTransaction,
    set: &[Request],
    remembered: &mut Remembered,
) -> Result<Result<Vec<Result<Answer, Error>>, Error>, store::Error> {
    let savepoint = store::savepoint(tx).await?;
    let written = write_set(&savepoint, set, remembered).await;
    if !set.iter().all(|request| request.body.is_plain()) {
        *remembered = Remembered::default();
    }
    match (store::end(savepoint, written.is_ok()).await, written) {
        (Ok(()), written) => Ok(written),
        // A full disk may undo the whole transaction: then that is why there is nothing to end.
        (
            Err(_),
            Err(Error::CannotWrite {
                cause: Some(cause), ..
            }),
        ) => Err(cause),
        (Err(lost), _) => Err(lost),
    }
}

async fn write_set(
    tx: &DatabaseTransaction,
    set: &[Request],
    remembered: &mut Remembered,
) -> Result<Vec<Result<Answer, Error>>, Error> {
    let asked = set
        .iter()
        .map(|request| (request.caller.id(), request.key.as_str()));
    let kept = store::replies::find_many(tx, asked).await?;
    let mut page = Page::after(kept);
    let names = Names::load(tx, set, remembered).await?;
    page.load_changes(tx, set, &names).await?;
    let mut books = Books::load(tx, &names).await?;
    books.load_promises(tx, names.jobs()).await?;
    books.load_lots(tx, set, &names).await?;
    let mut answers = Vec::with_capacity(set.len());
    for request in set {
        if let Some(before) = page.answer_before(request) {
            answers.push(before);
            continue;
        }
        let answer = plan_one(tx, request, &names, (&mut books, &mut page)).await;
        match answer {
            // What was refused has written nothing; what failed spoils the set.
            Err(
                error @ (Error::Store(_)
                | Error::Unavailable
                | Error::CannotWrite { .. }
                | Error::Internal(_)
                | Error::Overflow),
            ) => return Err(error),
            other => answers.push(other),
        }
    }
    let moved = books.moved();
    if set.iter().any(|request| !request.history) {
        negative::review(tx, &moved, &mut page).await?;
    }
    let now = page.now();
    page.write(tx).await?;
    books.write(tx).await?;
    let sites: BTreeSet<i64> = moved.explained.iter().map(|(_, site)| *site).collect();
    for key in moved.explained {
        variances::review(tx, key, now).await?;
    }
    for site in sites {
        parcels::review(tx, site, now).await?;
    }
    Ok(answers)
}

async fn plan_one(
    tx: &DatabaseTransaction,
    request: &Request,
    names: &Names,
    both: (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    if let Some(why) = aside::out_of_bounds(request) {
        return aside::keep(tx, (request, why), names, both.1).await;
    }
    match &request.body {
        Body::Usage(usage, Some(What::Stub)) => {
            stub::of_torch(tx, (request, usage), names, both).await
        }
        Body::Stubs(stubs, what, kind) => {
            stub::record(tx, (request, stubs), (*what, *kind), names, both.1).await
        }
        Body::Transfer(transfer) => transfer::record(request, transfer, names, both),
        Body::Usage(usage, what) => plan::usage(tx, (request, usage, *what), names, both).await,
        Body::Movement(movement, kind) => plan::movement(request, (movement, *kind), names, both),
        Body::Receipt(receipt) if receipt.order.is_none() => {
            plan::receipt(request, receipt, names, both)
        }
        Body::Receipt(receipt) => arrival::record(tx, (request, receipt), names, both).await,
        Body::Count(count) => count::record(tx, (request, count), names, both).await,
        Body::Allocation(new) => allocation::record(tx, (request, new), names, both).await,
        Body::Reversal(reversal) => reversal::record(tx, (request, reversal), both).await,
    }
}
