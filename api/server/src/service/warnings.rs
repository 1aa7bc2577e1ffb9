//! Warnings: reading them, and what people answer to them. When they open, speak and close is decided by a
//! look (`looks`); what cannot wait for one is raised here, in the transaction of its cause.

use chrono::{DateTime, Datelike, Days, Utc, Weekday};
use chrono_tz::Tz;
use domain::warning::{Quiet, QuietError, WarningKind};
use sea_orm::{ConnectionTrait, DatabaseTransaction};
use types::{
    Counted, EventKind, ListWarnings, NewAcknowledgement, NewCount, NewLook, NewQuiet,
    NewWarningCount, Page, Warning, WarningCounted, WarningPage,
};
use uuid::Uuid;

use super::events::{self, Channels, NewEvent};
use super::keys::{self, Caller};
use super::{Context, Error, codes, instant, ledger, looks, silences, watches};
use crate::store;
use crate::store::entity::{sites, warning_messages, warnings};

pub mod acted;
pub mod digest;
pub mod episode;
mod self_check;
pub mod view;

pub use self_check::{get as get_self_check, of_site as self_check_of};

/// More sites than any shop has.
const SITES_MAX: u64 = 1_000;
/// What is kept of a warning that somebody has seen.
const ACKNOWLEDGED: &str = "acknowledged";
/// What is kept of a warning that closed.
const CLOSED: &str = "closed";

/// Something that is told at once: about safety, or about proof.
#[derive(Debug)]
pub struct Raised {
    /// What kind.
    pub kind: WarningKind,
    /// What it is about, as it is shown.
    pub subject: String,
    /// The part.
    pub part: Option<i64>,
    /// The words.
    pub says: String,
}

/// Opens a warning about a fact, in the transaction of the fact; the next look tells it. While one about
/// the same is open, nothing is added: it is told once.
pub async fn raise(
    db: &impl ConnectionTrait,
    (site, now): (i64, DateTime<Utc>),
    raised: Raised,
) -> Result<(), Error> {
    let key = format!("{site}:{}:{}", raised.kind.as_str(), raised.subject);
    let row = warnings::Model {
        part_id: raised.part,
        says: raised.says,
        ..opened(raised.kind, (site, &key), (&raised.subject, now))
    };
    store::warnings::open(db, &row).await?;
    Ok(())
}

/// Takes a warning about a fact back, since the fact was: it closes.
pub async fn withdraw(
    db: &impl ConnectionTrait,
    (site, kind, subject): (i64, WarningKind, &str),
    (because, now): (&str, DateTime<Utc>),
) -> Result<(), Error> {
    let key = format!("{site}:{}:{subject}", kind.as_str());
    let Some(mut row) = store::warnings::about(db, &key).await? else {
        return Ok(());
    };
    row.closed_at = Some(now.timestamp_micros());
    row.open_subject = None;
    store::warnings::update(db, &row).await?;
    keep_message(db, row.id, (CLOSED, now), because.to_owned()).await
}

/// A row of a warning that opens.
pub fn opened(
    kind: WarningKind,
    (site_id, key): (i64, &str),
    (subject, now): (&str, DateTime<Utc>),
) -> warnings::Model {
    warnings::Model {
        id: Uuid::now_v7(),
        site_id,
        kind: kind.as_str().to_owned(),
        subject: subject.to_owned(),
        open_subject: Some(key.to_owned()),
        part_id: None,
        job_id: None,
        course_id: None,
        channels: watches::CHANNELS_DEFAULT.join(","),
        opened_at: now.timestamp_micros(),
        told_at: None,
        told_chance: None,
        escalated_at: None,
        quiet_until: None,
        quiet_on_hand: None,
        held_back_at: None,
        digested_at: None,
        acknowledged_at: None,
        acknowledged_by: None,
        closed_at: None,
        says: String::new(),
        details: "{}".to_owned(),
    }
}

/// A page of warnings.
pub async fn list(context: &Context, query: &ListWarnings) -> Result<WarningPage, Error> {
    let db = context.store.read();
    let is_closed = match query.state.as_deref() {
        None | Some("open") => Some(false),
        Some("closed") => Some(true),
        Some("all") => None,
        Some(other) => {
            let why = format!("\"{other}\" is no choice; give open, closed or all");
            return Err(Error::invalid("?state", why));
        }
    };
    let site = match query.site.as_deref() {
        Some(code) => Some(codes::named_site(db, "?site", code).await?.id),
        None => None,
    };
    let part = match query.part.as_deref() {
        Some(code) => Some(codes::named_part(db, "?part", code).await?.id),
        None => None,
    };
    let which = store::warnings::Which {
        site,
        part,
        is_closed,
        before: query.after.as_deref().map(keys::cursor).transpose()?,
    };
    let page = Page {
        limit: query.limit,
        after: None,
    };
    let rows = store::warnings::list(db, which, page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.id.to_string());
    let now = context.clock.now();
    let warnings = view::views(db, &rows, (now, false)).await?;
    let cannot_tell = if is_closed == Some(false) && query.after.is_none() {
        untold(db, (site, query.part.as_deref()), now).await?
    } else {
        Vec::new()
    };
    Ok(WarningPage {
        warnings,
        cannot_tell,
        next,
    })
}

/// What cannot be said at a site, or at all of them, of a part or of any.
async fn untold(
    db: &impl ConnectionTrait,
    (site, part): (Option<i64>, Option<&str>),
    now: DateTime<Utc>,
) -> Result<Vec<String>, Error> {
    let sites = match site {
        Some(id) => store::sites::get_many(db, [id]).await?,
        None => store::sites::list(db, None, SITES_MAX).await?,
    };
    let mut untold = Vec::new();
    for site in &sites {
        let silences = silences::of_site(db, site, now).await?;
        match part {
            Some(part) => untold.extend(silences::about(&silences, part).cloned()),
            None => untold.extend(silences),
        }
    }
    Ok(untold.into_iter().map(|it| it.says).collect())
}

/// One warning, with what was told in it.
pub async fn get(context: &Context, id: &str) -> Result<Warning, Error> {
    let db = context.store.read();
    told(db, &find(db, id).await?, context.clock.now()).await
}

async fn told(
    db: &impl ConnectionTrait,
    row: &warnings::Model,
    now: DateTime<Utc>,
) -> Result<Warning, Error> {
    let told = view::views(db, std::slice::from_ref(row), (now, true)).await?;
    let told = told.into_iter().next();
    told.ok_or_else(|| Error::Internal("a warning was lost".to_owned()))
}

/// The zone in which the times of a warning are told.
///
/// # Errors
/// A failure of the store.
pub async fn zone(context: &Context, warning: &Warning) -> Result<Tz, Error> {
    let site = codes::site(context.store.read(), &warning.site).await?;
    Ok(instant::site_zone(&site.zone))
}

/// Silences a warning until an end.
pub async fn quiet(context: &Context, id: &str, new: NewQuiet) -> Result<Warning, Error> {
    new.check()?;
    let (id, now) = (id.to_owned(), context.clock.now());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let mut row = find_open(tx, &id).await?;
            let mut episode = episode::read(&row)?;
            if episode.kind.is_safety() {
                let why = "a warning about safety or proof cannot be silenced; acknowledge it";
                return Err(Error::WrongState(why.to_owned()));
            }
            let site = site(tx, &row).await?;
            let until = end(&new.until, &site, now)?;
            let quiet = Quiet::new(now, until, new.on_hand).map_err(|error| {
                let field = match error {
                    QuietError::Pieces(_) => "/on_hand",
                    QuietError::Over(_) | QuietError::TooLong(_) => "/until",
                };
                Error::invalid(field, error)
            })?;
            episode.quiet = Some(quiet);
            episode::write(&mut row, &episode);
            store::warnings::update(tx, &row).await?;
            told(tx, &row, now).await
        })
    });
    write.await
}

/// The end of a silence: an instant, or the start of a day at the site.
fn end(text: &str, site: &sites::Model, now: DateTime<Utc>) -> Result<DateTime<Utc>, Error> {
    let zone = instant::site_zone(&site.zone);
    let today = now.with_timezone(&zone).date_naive();
    let days = match text.trim().to_lowercase().as_str() {
        "tomorrow" => 1,
        "monday" => {
            let since = today.weekday().days_since(Weekday::Mon);
            u64::from(7 - since)
        }
        _ => return Ok(instant::asked_as("/until", Some(text), now)?),
    };
    let day = today.checked_add_days(Days::new(days)).unwrap_or(today);
    Ok(instant::start_of_day(day, zone))
}

/// That a warning was seen. One about safety is over then.
pub async fn acknowledge(
    context: &Context,
    id: &str,
    new: NewAcknowledgement,
) -> Result<Warning, Error> {
    new.check()?;
    let (id, now) = (id.to_owned(), context.clock.now());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let mut row = find(tx, &id).await?;
            if row.acknowledged_at.is_none() {
                row.acknowledged_at = Some(now.timestamp_micros());
                row.acknowledged_by.clone_from(&new.by);
                if row.closed_at.is_none() && episode::read(&row)?.kind.is_safety() {
                    // At once, so that the next fact of the kind is told anew.
                    row.closed_at = row.acknowledged_at;
                    row.open_subject = None;
                }
                store::warnings::update(tx, &row).await?;
                let by = new.by.map_or_else(String::new, |by| format!(" by {by}"));
                let says = format!("Seen{by}: {}", row.says);
                keep_message(tx, row.id, (ACKNOWLEDGED, now), says.clone()).await?;
                send(tx, &row, (EventKind::WarningAcknowledged, now), says).await?;
            }
            told(tx, &row, now).await
        })
    });
    write.await
}

/// The answer to a wrong warning: a count of its part. It is looked at afterwards, so that the answer
/// tells what has become of the warning.
pub async fn count(
    context: &Context,
    (caller, key): (Caller, &str),
    id: &str,
    new: NewWarningCount,
) -> Result<WarningCounted, Error> {
    new.check()?;
    let db = context.store.read();
    let row = find(db, id).await?;
    let site = site(db, &row).await?;
    let part = store::parts::get_many(db, row.part_id).await?.pop();
    let part = part.ok_or_else(|| {
        let why = "this warning is not about one part; count the parts with /v1/counts";
        Error::WrongState(why.to_owned())
    })?;
    let count = NewCount {
        part: part.code,
        counted: new.counted,
        site: Some(site.code.clone()),
        by: new.by,
        ..NewCount::default()
    };
    let answer = ledger::record_count(context, caller, key, count).await?;
    let counted: Counted =
        serde_json::from_str(&answer.body).map_err(|error| Error::Internal(error.to_string()))?;
    let look = NewLook {
        site: Some(site.code),
    };
    looks::look(context, &look).await?;
    let warning = get(context, id).await?;
    Ok(WarningCounted { counted, warning })
}

/// Keeps what was told in a warning.
pub async fn keep_message(
    db: &impl ConnectionTrait,
    warning: Uuid,
    (kind, now): (&str, DateTime<Utc>),
    says: String,
) -> Result<(), Error> {
    let row = warning_messages::Model {
        id: Uuid::now_v7(),
        warning_id: warning,
        kind: kind.to_owned(),
        at: now.timestamp_micros(),
        says,
    };
    Ok(store::warnings::insert_message(db, row).await?)
}

/// Hands on what happened in a warning to all who hear of it.
pub async fn send(
    tx: &DatabaseTransaction,
    row: &warnings::Model,
    (kind, at): (EventKind, DateTime<Utc>),
    says: String,
) -> Result<(), Error> {
    let warning = told(tx, row, at).await?;
    let has = |channel: &str| warning.channels.iter().any(|it| it == channel);
    let channels = Channels {
        mail: has("mail"),
        webhook: has("webhook"),
        calendar: has("calendar"),
    };
    let data = serde_json::to_value(&warning);
    let event = NewEvent {
        kind,
        subject: warning.subject,
        site: Some(warning.site),
        part: warning.part,
        warning: Some(row.id),
        at,
        channels,
        says,
        data: data.map_err(|error| Error::Internal(error.to_string()))?,
    };
    events::record(tx, event).await?;
    Ok(())
}

async fn site(db: &impl ConnectionTrait, row: &warnings::Model) -> Result<sites::Model, Error> {
    let site = store::sites::get_many(db, [row.site_id]).await?.pop();
    site.ok_or_else(|| Error::Internal("a warning lost its site".to_owned()))
}

async fn find(db: &impl ConnectionTrait, id: &str) -> Result<warnings::Model, Error> {
    let missing = || Error::NotFound {
        kind: "warning",
        key: id.to_owned(),
    };
    let uuid: Uuid = id.parse().map_err(|_| missing())?;
    let found = store::warnings::find(db, uuid).await?;
    found.ok_or_else(missing)
}

async fn find_open(db: &impl ConnectionTrait, id: &str) -> Result<warnings::Model, Error> {
    let row = find(db, id).await?;
    if row.closed_at.is_some() {
        let why = format!("warning {id} is closed; there is nothing left of it to silence");
        return Err(Error::WrongState(why));
    }
    Ok(row)
}
