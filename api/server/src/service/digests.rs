//! The weekly digest of a site: a line for each thing that is worth no message by itself. It is made once
//! for each time that it is due, however many processes look, and an empty one is told to nobody. What it
//! says of warnings is in `warnings::digest`; sending it is in `channels`.

use chrono::{DateTime, Datelike, Days, NaiveDateTime, NaiveTime, TimeDelta, Utc, Weekday};
use domain::ledger::MovementKind;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, DatabaseTransaction};
use serde::Serialize;
use serde_json::json;
use types::{EventKind, GetCountList, NewLook};

use super::events::{self, Channels, NewEvent};
use super::known::View;
use super::orders::State;
use super::warnings::digest;
use super::{Context, Error, count_list, instant, looks, terms, torch_wear};
use crate::store;
use crate::store::entity::{digests, sites};

/// When it is due unless the site says otherwise: Sunday 18:00, before the week (product rule).
const WEEKDAY: Weekday = Weekday::Sun;
const MINUTE: i64 = 18 * 60;
/// How late the first one of a site may be: the weeks before the service was there are not looked back on.
const FIRST_LATE_MAX: TimeDelta = TimeDelta::hours(1);
/// How far one looks back that has none before it.
const WEEK: TimeDelta = TimeDelta::days(7);
/// Stock of which none was taken for so long is slow (common practice: a year).
const SLOW: TimeDelta = TimeDelta::days(365);
/// How many parts a line names.
const NAMED_MAX: usize = 12;
/// More sites than this have no digest.
const SITES_MAX: u64 = 1_000;

/// One line of a digest.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
struct Line {
    about: &'static str,
    says: String,
}

fn line(about: &'static str, says: String) -> Line {
    Line { about, says }
}

/// Makes the digests that are due; how many were told.
///
/// # Errors
/// A failure of the store.
pub async fn make_due(context: &Context) -> Result<usize, Error> {
    let now = context.clock.now();
    let mut told = 0;
    for site in store::sites::list(context.store.read(), None, SITES_MAX).await? {
        told += usize::from(make(context, site, now).await?);
    }
    Ok(told)
}

/// Makes the digest of a site if it is due and not made; whether it was told.
async fn make(context: &Context, site: sites::Model, now: DateTime<Utc>) -> Result<bool, Error> {
    let zone = instant::site_zone(&site.zone);
    let weekday = site.digest_weekday.as_deref();
    let weekday = weekday.and_then(|day| day.parse().ok()).unwrap_or(WEEKDAY);
    let minute = site.digest_minute.unwrap_or(MINUTE);
    let local = now.with_timezone(&zone).naive_local();
    let due = latest(local, weekday, minute);
    let day = due.date().format("%Y-%m-%d").to_string();
    let db = context.store.read();
    let before = store::digests::newest(db, site.id).await?;
    if before.as_ref().is_some_and(|before| before.day >= day) {
        return Ok(false);
    }
    let is_first_and_late = before.is_none() && local - due > FIRST_LATE_MAX;
    let since = before.map_or(now - WEEK, |before| instant::from_micros(before.made_at));
    let lines = if is_first_and_late {
        None
    } else {
        Some(lines(context, &site, (since, now)).await?)
    };
    let title = due.format("%a %-d %b").to_string();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let newest = store::digests::newest(tx, site.id).await?;
            if newest.is_some_and(|newest| newest.day >= day) {
                return Ok(false);
            }
            let event = match lines {
                None => None,
                Some(lines) => tell(tx, &site, (lines, title), (since, now)).await?,
            };
            let row = digests::ActiveModel {
                site_id: Set(site.id),
                day: Set(day),
                event_id: Set(event),
                made_at: Set(now.timestamp_micros()),
            };
            match store::digests::insert(tx, row).await {
                Ok(_) => Ok(event.is_some()),
                Err(error) => Err(error.into()),
            }
        })
    });
    write.await
}

/// The latest time, not after `local`, that is so many minutes into such a weekday.
fn latest(local: NaiveDateTime, weekday: Weekday, minute: i64) -> NaiveDateTime {
    let back = local.weekday().days_since(weekday);
    let day = local.date() - Days::new(u64::from(back));
    let due = day.and_time(NaiveTime::MIN) + TimeDelta::minutes(minute);
    if due > local { due - WEEK } else { due }
}

/// Records the digest, with what it says of warnings, if it says anything.
async fn tell(
    tx: &DatabaseTransaction,
    site: &sites::Model,
    (mut lines, title): (Vec<Line>, String),
    (since, now): (DateTime<Utc>, DateTime<Utc>),
) -> Result<Option<uuid::Uuid>, Error> {
    let of = digest::of_warnings(tx, site, (since, now)).await?;
    let mut all: Vec<Line> = Vec::new();
    all.extend(of.waiting.into_iter().map(|says| line("waiting", says)));
    all.append(&mut lines);
    all.extend(of.closed.into_iter().map(|says| line("closed", says)));
    all.extend(of.proposal.map(|says| line("proposal", says)));
    if all.is_empty() {
        return Ok(None);
    }
    let count = all.len();
    let s = if count == 1 { "" } else { "s" };
    let event = NewEvent {
        kind: EventKind::DigestReady,
        subject: format!("digest {}", site.code),
        site: Some(site.code.clone()),
        part: None,
        warning: None,
        at: now,
        channels: Channels::ALL,
        says: format!("Digest of {}, {title}: {count} line{s}.", site.code),
        data: json!({ "site": site.code, "lines": all }),
    };
    Ok(Some(events::record(tx, event).await?))
}

/// What is to be said beside the warnings.
async fn lines(
    context: &Context,
    site: &sites::Model,
    (since, now): (DateTime<Utc>, DateTime<Utc>),
) -> Result<Vec<Line>, Error> {
    let db = context.store.read();
    let mut lines = Vec::new();
    // What is due as a message goes out as one now, and what cannot be told is known after it.
    let look = NewLook {
        site: Some(site.code.clone()),
    };
    let look = looks::look(context, &look).await?;
    let list = GetCountList {
        site: Some(site.code.clone()),
        ..GetCountList::default()
    };
    let to_count = count_list::get(context, &list).await?;
    let to_count: Vec<String> = to_count
        .lines
        .iter()
        .map(|it| match &it.drawer {
            Some(drawer) => format!("{} (drawer {drawer})", it.part),
            None => it.part.clone(),
        })
        .collect();
    if !to_count.is_empty() {
        let says = format!("To count: {}.", named(&to_count));
        lines.push(line("count", says));
    }
    lines.extend(drafts(db, site).await?);
    let terms = terms::between(db, (since, now)).await?;
    lines.extend(terms.into_iter().map(|it| line("terms", it.says)));
    for webhook in store::digests::disabled_webhooks(db).await? {
        let why = webhook.disabled_why.unwrap_or_default();
        let says = format!("Nothing is sent to webhook {}: {why}.", webhook.url);
        lines.push(line("webhook", says));
    }
    for address in store::mail_addresses::all(db).await? {
        if address.failing_since.is_some() {
            let answer = address.last_answer.unwrap_or_default();
            let says = format!("Mail to {} does not arrive: {answer}.", address.address);
            lines.push(line("mail", says));
        }
    }
    let rings = torch_wear::o_rings(db, site, View::present(now)).await?;
    let rings = rings.into_iter().filter(|ring| ring.due);
    lines.extend(rings.map(|ring| line("o-ring", ring.says)));
    lines.extend(slow(db, site, now).await?);
    let untold = look.cannot_tell.into_iter();
    lines.extend(untold.map(|says| line("cannot tell", says)));
    Ok(lines)
}

async fn drafts(db: &impl ConnectionTrait, site: &sites::Model) -> Result<Vec<Line>, Error> {
    let drafts = store::orders::in_states(db, &[State::Draft.as_str()]).await?;
    let drafts = drafts.iter().filter(|order| order.site_id == site.id);
    let says = |id: i64| format!("Order {id} is a draft. Next: place it, or cancel it.");
    Ok(drafts.map(|order| line("draft", says(order.id))).collect())
}

/// What lay there for a year without any being taken.
async fn slow(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    now: DateTime<Utc>,
) -> Result<Vec<Line>, Error> {
    let year_ago = (now - SLOW).timestamp_micros();
    let issue = Some(MovementKind::Issue.as_str());
    let taken = store::digests::moved(db, site.id, issue, (year_ago, i64::MAX)).await?;
    let there = store::digests::moved(db, site.id, None, (i64::MIN, year_ago)).await?;
    let mut slow = store::digests::on_hand(db, site.id).await?;
    slow.retain(|part| there.contains(part) && !taken.contains(part));
    let rows = store::parts::get_many(db, slow).await?;
    let mut codes: Vec<String> = rows.into_iter().map(|row| row.code).collect();
    codes.sort();
    let says = || format!("None was taken for a year of: {}.", named(&codes));
    Ok((!codes.is_empty())
        .then(|| line("slow", says()))
        .into_iter()
        .collect())
}

/// Names, as many as a line holds.
fn named(names: &[String]) -> String {
    let shown = names.len().min(NAMED_MAX);
    let told = names[..shown].join(", ");
    match names.len() - shown {
        0 => told,
        more => format!("{told} and {more} more"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn local(text: &str) -> NaiveDateTime {
        text.parse().expect("a local time")
    }

    #[test]
    fn the_latest_time_is_at_most_a_week_ago_and_never_to_come() {
        // 21 June 2026 is a Sunday.
        for (now, due) in [
            ("2026-06-21T18:00:00", "2026-06-21T18:00:00"),
            ("2026-06-21T17:59:59", "2026-06-14T18:00:00"),
            ("2026-06-22T00:00:00", "2026-06-21T18:00:00"),
            ("2026-06-27T23:59:59", "2026-06-21T18:00:00"),
        ] {
            assert_eq!(
                latest(local(now), Weekday::Sun, MINUTE),
                local(due),
                "{now}"
            );
        }
        let due = latest(local("2026-06-24T07:00:00"), Weekday::Wed, 7 * 60);
        assert_eq!(due, local("2026-06-24T07:00:00"));
    }
}
