//! Counts. A count beats every calculation: on hand is the newest count and what happened after it,
//! in whatever order they arrive.

use domain::ledger::{Count, MovementKind};
use sea_orm::{ConnectionTrait, DatabaseTransaction};
use types::{Counted, NewCount};

use super::books::{Books, Key};
use super::names::Names;
use super::page::Page;
use super::placed::Placed;
use super::variances::{self, Counted as JustCounted};
use super::{Answer, Request, words};
use crate::service::Error;
use crate::service::drawers::places;
use crate::store::{self, entity::counts};

/// Records a count, with what the book said of the same instant.
pub(super) async fn record(
    tx: &DatabaseTransaction,
    (request, count): (&Request, &NewCount),
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let told = count.circumstances();
    let placed = Placed::find(request, told, None, names)?;
    let part = names.part(&count.part)?;
    if let Some(drawer) = &count.drawer {
        places::check_count(tx, drawer, part, placed.site).await?;
    }
    let key = (part.id, placed.site.id);
    let later = moved_after(tx, key, Some(placed.micros())).await?;
    let (book, was_counted) = book_at(tx, key, placed.micros(), later).await?;
    let entry = placed.entry(request, "count", told);
    let fact = Count {
        at: placed.at.to_utc(),
        counted: count.counted,
        id: entry.id.as_u128(),
    };
    let is_newest = books.book(key).on_hand.is_superseded_by(&fact);
    books.count(key, &fact, later)?;
    if !is_newest {
        books.explain(key);
    }
    let row = counts::Model {
        entry_id: entry.id,
        part_id: part.id,
        site_id: placed.site.id,
        counted: count.counted,
        book,
        happened_at: placed.micros(),
    };
    let on_hand = books.book(key).on_hand.on_hand;
    let counted = JustCounted {
        part,
        row: &row,
        offset_minutes: entry.offset_minutes,
        is_opening: !was_counted,
        is_newest,
    };
    let questions: Vec<(i64, String)> = variances::ask(tx, counted, page)
        .await?
        .into_iter()
        .collect();
    let answer = Counted {
        entry: entry.id,
        part: part.code.clone(),
        site: placed.site.code.clone(),
        counted: count.counted,
        book,
        variance: count.counted - book,
        on_hand,
        says: says(&part.code, count.counted, book, on_hand) + &words::asked(&questions),
        questions: questions.iter().map(|(number, _)| *number).collect(),
    };
    page.enter(entry);
    page.count(row);
    page.answer(request, &answer)
}

fn says(part: &str, counted: i64, book: i64, on_hand: i64) -> String {
    let variance = match counted - book {
        0 => "as the book says".to_owned(),
        more if more > 0 => format!("{more} more than the book's {book}"),
        fewer => format!("{} fewer than the book's {book}", -fewer),
    };
    let now = if on_hand == counted {
        String::new()
    } else {
        format!(" {on_hand} on hand now.")
    };
    format!("{part}: {counted} counted, {variance}.{now}")
}

/// The signed sum of what moved strictly after an instant, or ever.
pub(super) async fn moved_after(
    tx: &impl ConnectionTrait,
    key: Key,
    at: Option<i64>,
) -> Result<i64, Error> {
    let sums = store::movements::sums_after(tx, key, at).await?;
    sums.iter().try_fold(0_i64, |total, sum| {
        let sign = MovementKind::parse(&sum.kind).map_or(0, MovementKind::on_hand_sign);
        total
            .checked_add(sign * sum.quantity)
            .ok_or(Error::Overflow)
    })
}

/// What the book says of an instant, by what is on record now: the newest standing count up to
/// then, and what moved after it up to then; and whether there was such a count.
async fn book_at(
    tx: &DatabaseTransaction,
    key: Key,
    at: i64,
    later: i64,
) -> Result<(i64, bool), Error> {
    let counts = store::counts::standing(tx, key).await?;
    let newest = counts
        .iter()
        .filter(|count| count.happened_at <= at)
        .max_by_key(|count| (count.happened_at, count.entry_id));
    let (counted, since) =
        newest.map_or((0, None), |count| (count.counted, Some(count.happened_at)));
    let moved = moved_after(tx, key, since)
        .await?
        .checked_sub(later)
        .ok_or(Error::Overflow)?;
    let book = counted.checked_add(moved).ok_or(Error::Overflow)?;
    Ok((book, newest.is_some()))
}
