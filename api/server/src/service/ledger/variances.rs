//! Counts that differ from the book: what is asked about them, and how what a person decides is
//! found again. The book of a count is that of its instant, by what is known now: entries that come
//! in later may explain the difference.

use chrono::TimeDelta;
use domain::question::QuestionKind;
use domain::variance::{MisBooking, Receipt, mis_bookings};
use sea_orm::ConnectionTrait;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::books::Key;
use super::count::moved_after;
use super::page::Page;
use super::words;
use crate::service::questions::{self, NewQuestion};
use crate::service::{Error, instant};
use crate::store;
use crate::store::entity::{counts, parts};

/// Counts of one stocktake are at most so far apart: a weekend.
const STOCKTAKE: TimeDelta = TimeDelta::hours(48);

/// A count beside the book of its instant.
#[derive(Clone, Debug)]
pub struct Variance {
    /// The count.
    pub count: counts::Model,
    /// The book of its instant, by what is known now.
    pub book: i64,
    /// The standing count before it.
    pub before: Option<i64>,
}

/// What a question about a mis-booked receipt remembers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Parcel {
    /// The entry of the receipt.
    pub receipt: Uuid,
    /// How many came.
    pub quantity: i64,
    /// The count of the part it is booked to.
    pub from: Uuid,
    /// The count of the part it may belong to.
    pub to: Uuid,
}

/// What a question about a variance remembers.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Amount {
    amount: i64,
}

/// A count that was just recorded.
pub(super) struct Counted<'a> {
    pub(super) part: &'a parts::Model,
    pub(super) row: &'a counts::Model,
    pub(super) offset_minutes: i64,
    /// Whether it is the first count of the part there: the book begins with it, and what was
    /// logged before differs from it as a matter of course.
    pub(super) is_opening: bool,
    /// Whether no newer count was told before it.
    pub(super) is_newest: bool,
}

impl Variance {
    /// Counted less book.
    pub fn amount(&self) -> i64 {
        self.count.counted - self.book
    }
}

/// A count that was recorded, beside the book of its instant.
pub async fn variance(db: &impl ConnectionTrait, count: counts::Model) -> Result<Variance, Error> {
    let key = (count.part_id, count.site_id);
    let own = (count.happened_at, count.entry_id);
    let standing = store::counts::standing(db, key).await?;
    let before = standing
        .iter()
        .filter(|other| (other.happened_at, other.entry_id) < own)
        .max_by_key(|other| (other.happened_at, other.entry_id));
    let (counted, since) =
        before.map_or((0, None), |other| (other.counted, Some(other.happened_at)));
    let moved = moved_after(db, key, since)
        .await?
        .checked_sub(moved_after(db, key, Some(count.happened_at)).await?)
        .ok_or(Error::Overflow)?;
    let book = counted.checked_add(moved).ok_or(Error::Overflow)?;
    Ok(Variance {
        book,
        before: since,
        count,
    })
}

/// Asks about a count that differs from the book: about the receipt that would explain it together
/// with another count, or about the difference itself.
pub(super) async fn ask(
    db: &impl ConnectionTrait,
    counted: Counted<'_>,
    page: &mut Page,
) -> Result<Option<(i64, String)>, Error> {
    let row = counted.row;
    let amount = row.counted - row.book;
    if amount == 0 || counted.is_opening || !counted.is_newest {
        return Ok(None);
    }
    if let Some((parcel, says, other)) = suspect(db, &counted, amount).await? {
        let question = NewQuestion {
            kind: QuestionKind::MisBooking,
            site: row.site_id,
            part: Some(row.part_id),
            entry: Some(parcel.receipt),
            other_entry: None,
            subject: format!("parcel:{}:{}:{}", parcel.receipt, parcel.from, parcel.to),
            details: json(&parcel)?,
            says,
        };
        let says = question.says.clone();
        let number = page.ask(db, question).await?;
        let why = format!("asked together with another count, in question {number}");
        questions::close(db, other, why, page.now()).await?;
        return Ok(Some((number, says)));
    }
    let question = question(row, row.book, (&counted.part.code, counted.offset_minutes))?;
    // The answer to the count has told the figures already.
    let asks = words::variance_asks(amount).to_owned();
    Ok(Some((page.ask(db, question).await?, asks)))
}

/// The question about a count that differs from the book.
pub(super) fn question(
    row: &counts::Model,
    book: i64,
    (part, offset_minutes): (&str, i64),
) -> Result<NewQuestion, Error> {
    let amount = row.counted - book;
    Ok(NewQuestion {
        kind: QuestionKind::Variance,
        site: row.site_id,
        part: Some(row.part_id),
        entry: Some(row.entry_id),
        other_entry: None,
        subject: format!("variance:{}", row.entry_id),
        details: json(&Amount { amount })?,
        says: words::variance(
            part,
            (row.counted, book),
            &instant::with_offset(row.happened_at, offset_minutes),
        ),
    })
}

/// The receipt that would explain this count and another one that is asked about, in words, and the
/// number of the question that the other one is asked in.
async fn suspect(
    db: &impl ConnectionTrait,
    counted: &Counted<'_>,
    amount: i64,
) -> Result<Option<(Parcel, String, i64)>, Error> {
    let others = others(db, counted.row).await?;
    if others.is_empty() {
        return Ok(None);
    }
    let own = Other {
        question: 0,
        count: counted.row.clone(),
        amount,
    };
    let all: Vec<&Other> = others.iter().chain(std::iter::once(&own)).collect();
    let variances: Vec<domain::variance::Variance<i64>> = all
        .iter()
        .map(|other| domain::variance::Variance {
            part: other.count.part_id,
            amount: other.amount,
        })
        .collect();
    let receipts = receipts(db, &all).await?;
    let found = mis_bookings(&variances, &receipts)
        .into_iter()
        .find(|found| [found.from.part, found.to.part].contains(&counted.row.part_id));
    let Some(found) = found else { return Ok(None) };
    let of = |part: i64| all.iter().find(|other| other.count.part_id == part);
    let (Some(from), Some(to)) = (of(found.from.part), of(found.to.part)) else {
        return Ok(None);
    };
    let parcel = Parcel {
        receipt: found.receipt,
        quantity: found.quantity,
        from: from.count.entry_id,
        to: to.count.entry_id,
    };
    let says = words_of(db, &found).await?;
    Ok(Some((parcel, says, from.question.max(to.question))))
}

/// Another count of the stocktake that is asked about.
struct Other {
    question: i64,
    count: counts::Model,
    amount: i64,
}

async fn others(db: &impl ConnectionTrait, row: &counts::Model) -> Result<Vec<Other>, Error> {
    let open = store::questions::open_at(db, QuestionKind::Variance.as_str(), row.site_id).await?;
    let counts =
        store::counts::of_entries(db, open.iter().filter_map(|question| question.entry_id)).await?;
    let apart = STOCKTAKE.num_microseconds().unwrap_or(0);
    let mut others = Vec::new();
    for count in counts {
        let question = open
            .iter()
            .find(|question| question.entry_id == Some(count.entry_id))
            .map_or(0, |question| question.id);
        let near = (count.happened_at - row.happened_at).abs() <= apart;
        if near && count.part_id != row.part_id {
            let amount = variance(db, count.clone()).await?.amount();
            others.push(Other {
                question,
                count,
                amount,
            });
        }
    }
    Ok(others)
}

/// What came in for the parts of which pieces are missing, since the count before.
async fn receipts(
    db: &impl ConnectionTrait,
    all: &[&Other],
) -> Result<Vec<Receipt<i64, Uuid>>, Error> {
    let mut found = Vec::new();
    for other in all.iter().filter(|other| other.amount < 0) {
        let count = &other.count;
        let key = (count.part_id, count.site_id);
        let since = variance(db, count.clone()).await?.before;
        let rows = store::movements::receipts(db, key, (since, count.happened_at)).await?;
        let reversed = store::entries::reversed(db, rows.iter().map(|row| row.entry_id)).await?;
        let standing = rows
            .iter()
            .filter(|row| row.quantity > 0 && !reversed.contains(&row.entry_id));
        found.extend(standing.map(|row| Receipt {
            receipt: row.entry_id,
            part: row.part_id,
            quantity: row.quantity,
        }));
    }
    Ok(found)
}

async fn words_of(
    db: &impl ConnectionTrait,
    found: &MisBooking<i64, Uuid>,
) -> Result<String, Error> {
    let parts = store::parts::get_many(db, [found.from.part, found.to.part]).await?;
    let code = |id: i64| {
        let part = parts.iter().find(|part| part.id == id);
        part.map_or_else(String::new, |part| part.code.clone())
    };
    let receipt = store::entries::find(db, found.receipt).await?;
    let day = receipt.map_or_else(String::new, |entry| {
        words::day(&instant::with_offset(
            entry.happened_at,
            entry.offset_minutes,
        ))
    });
    let (from, to) = (code(found.from.part), code(found.to.part));
    Ok(format!(
        "Counts differ by {:+} on {to} and {:+} on {from}. The receipt of {} on {day} may belong to {to}. Move it?",
        found.to.amount, found.from.amount, found.quantity
    ))
}

/// Looks again at what is asked about the counts of a part, after something came in or was taken
/// back that happened before one of them: a movement or another count.
pub(super) async fn review(
    db: &impl ConnectionTrait,
    (part, site): Key,
    now: i64,
) -> Result<(), Error> {
    let kind = QuestionKind::Variance.as_str();
    for open in store::questions::open_of(db, kind, ([part], site)).await? {
        let counts = store::counts::of_entries(db, open.entry_id).await?;
        let Some(count) = counts.into_iter().next() else {
            continue;
        };
        let found = variance(db, count).await?;
        if found.amount() == 0 {
            let why = "what came in later explains it".to_owned();
            questions::close(db, open.id, why, now).await?;
            continue;
        }
        if found.before.is_none() {
            let why = "it is the first count now, and the book begins with it".to_owned();
            questions::close(db, open.id, why, now).await?;
            continue;
        }
        let entry = store::entries::find(db, found.count.entry_id).await?;
        let offset = entry.map_or(0, |entry| entry.offset_minutes);
        let part = store::parts::get_many(db, [part]).await?.pop();
        let says = words::variance(
            &part.map_or_else(String::new, |part| part.code),
            (found.count.counted, found.book),
            &instant::with_offset(found.count.happened_at, offset),
        );
        let amount = found.amount();
        store::questions::reword(db, open.id, says, json(&Amount { amount })?.to_string()).await?;
    }
    Ok(())
}

fn json(details: &impl Serialize) -> Result<serde_json::Value, Error> {
    serde_json::to_value(details).map_err(|error| Error::Internal(error.to_string()))
}
