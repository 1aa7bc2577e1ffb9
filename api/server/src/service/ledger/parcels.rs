//! A receipt that would explain two counts is asked about in their place. When one of the three is
//! taken back, there is nothing to be moved: the counts that stand are asked about again.

use domain::question::QuestionKind;
use sea_orm::ConnectionTrait;
use uuid::Uuid;

use super::variances::{self, Parcel, variance};
use crate::service::{Error, questions};
use crate::store;

/// Looks again at what is asked about receipts of a site.
pub(super) async fn review(db: &impl ConnectionTrait, site: i64, now: i64) -> Result<(), Error> {
    let kind = QuestionKind::MisBooking.as_str();
    for open in store::questions::open_at(db, kind, site).await? {
        let parcel: Parcel = serde_json::from_str(&open.details)
            .map_err(|error| Error::Internal(error.to_string()))?;
        let three = [parcel.receipt, parcel.from, parcel.to];
        let reversed = store::entries::reversed(db, three).await?;
        let Some(back) = reversed.first() else {
            continue;
        };
        let why = format!("entry {back} was taken back");
        questions::close(db, open.id, why, now).await?;
        for count in [parcel.from, parcel.to] {
            if !reversed.contains(&count) {
                ask(db, count, now).await?;
            }
        }
    }
    Ok(())
}

/// Asks about a count by itself, if it differs from the book.
async fn ask(db: &impl ConnectionTrait, count: Uuid, now: i64) -> Result<(), Error> {
    let Some(count) = store::counts::of_entries(db, [count]).await?.pop() else {
        return Ok(());
    };
    let found = variance(db, count).await?;
    if found.amount() == 0 || found.before.is_none() {
        return Ok(());
    }
    let part = store::parts::get_many(db, [found.count.part_id]).await?;
    let part = part.first().map_or("", |part| &part.code);
    let entry = store::entries::find(db, found.count.entry_id).await?;
    let offset_minutes = entry.map_or(0, |entry| entry.offset_minutes);
    let question = variances::question(&found.count, found.book, (part, offset_minutes))?;
    let number = store::questions::next_number(db).await?;
    store::questions::insert(db, question.row(number, now)?).await?;
    Ok(())
}
