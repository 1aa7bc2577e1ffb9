//! What has become of the warnings of a site at a look: which open, which are told, within the weekly limit,
//! and which close. All of it happens in the transaction that it is called in, with what is sent of it.

use std::collections::HashMap;

use chrono::{DateTime, TimeDelta, Utc};
use domain::warning::{
    CHANCE_LIMIT, Episode, Happening, Moment, Reading, WEEKLY_LIMIT, WarningKind, chosen, room,
    step,
};
use sea_orm::DatabaseTransaction;
use types::{EventKind, Look};

use super::candidate::Candidate;
use crate::service::warnings::{self, episode, view};
use crate::service::{Error, instant, sites};
use crate::store;
use crate::store::entity::{sites as site_rows, warnings as rows};

/// A warning that stands, beside what is read now of what it is about.
struct Standing {
    row: rows::Model,
    episode: Episode,
    now: Candidate,
    is_new: bool,
}

/// Why a warning of something that is not watched any more closes.
const UNWATCHED: &str = "since it is not watched any more, or has begun";

/// Lets warnings open, speak and close by what is read now. Where that is everything, what is open beside it
/// is not watched any more, and closes.
pub(super) async fn settle(
    tx: &DatabaseTransaction,
    (site, now): (&site_rows::Model, DateTime<Utc>),
    candidates: Vec<Candidate>,
    is_whole: bool,
) -> Result<Look, Error> {
    let open = store::warnings::open_at(tx, site.id).await?;
    let mut open: HashMap<String, rows::Model> = open
        .into_iter()
        .filter_map(|row| Some((row.open_subject.clone()?, row)))
        .collect();
    let mut standing = Vec::new();
    for candidate in candidates {
        let known = open.remove(&candidate.key);
        standing.extend(stand(known, candidate, (site.id, now))?);
    }
    let mut ended = Vec::new();
    for row in open.into_values() {
        let episode = episode::read(&row)?;
        if episode.kind.is_safety() {
            let now = as_it_was(&row, episode.kind);
            standing.push(Standing {
                row,
                episode,
                now,
                is_new: false,
            });
        } else if is_whole {
            ended.push(row);
        }
    }
    standing.sort_by_key(|it| it.row.id);
    let rooms = rooms(tx, (site, now), &standing).await?;
    let is_quiet_time = is_quiet_time(site, now);
    let mut look = Look {
        as_of: now,
        ..Look::default()
    };
    for (standing, has_room) in standing.into_iter().zip(rooms) {
        let moment = Moment {
            now,
            is_quiet_time,
            has_room,
            chance_limit: CHANCE_LIMIT,
        };
        go_on(tx, standing, &moment, &mut look).await?;
    }
    for mut row in ended {
        row.closed_at = Some(now.timestamp_micros());
        row.open_subject = None;
        store::warnings::update(tx, &row).await?;
        let says = format!("{}: closed, {UNWATCHED}.", row.subject);
        tell(tx, &row, ("closed", now), says).await?;
        look.closed.extend(views(tx, &row, now).await?);
    }
    Ok(look)
}

/// The warning about something, if there is one or has to be.
fn stand(
    known: Option<rows::Model>,
    candidate: Candidate,
    (site, now): (i64, DateTime<Utc>),
) -> Result<Option<Standing>, Error> {
    if let Some(row) = known {
        return Ok(Some(Standing {
            episode: episode::read(&row)?,
            row,
            now: candidate,
            is_new: false,
        }));
    }
    if !candidate.reading.opens(CHANCE_LIMIT) {
        return Ok(None);
    }
    let place = (site, candidate.key.as_str());
    let row = rows::Model {
        part_id: candidate.part,
        job_id: candidate.job,
        course_id: candidate.course,
        channels: candidate.channels.join(","),
        ..warnings::opened(candidate.kind, place, (&candidate.subject, now))
    };
    Ok(Some(Standing {
        episode: Episode::open(candidate.kind, now),
        row,
        now: candidate,
        is_new: true,
    }))
}

/// A warning about a fact reads as it was raised until somebody has seen it.
fn as_it_was(row: &rows::Model, kind: WarningKind) -> Candidate {
    Candidate {
        kind,
        key: row.open_subject.clone().unwrap_or_default(),
        subject: row.subject.clone(),
        part: row.part_id,
        job: row.job_id,
        course: row.course_id,
        channels: row.channels.split(',').map(str::to_owned).collect(),
        reading: Reading {
            is_low: true,
            is_clear: false,
            chance: 0.0,
            on_hand: 0,
            on_order_until: None,
        },
        weight: 0.0,
        says: row.says.clone(),
        louder: row.says.clone(),
        figures: None,
    }
}

/// For which of those warnings the week has room.
async fn rooms(
    tx: &DatabaseTransaction,
    (site, now): (&site_rows::Model, DateTime<Utc>),
    standing: &[Standing],
) -> Result<Vec<bool>, Error> {
    let safety: Vec<&str> = WarningKind::ALL
        .iter()
        .filter(|kind| kind.is_safety())
        .map(|kind| kind.as_str())
        .collect();
    let week = (now - TimeDelta::weeks(1)).timestamp_micros();
    let told = store::warnings::messages_after(tx, (site.id, week), &safety).await?;
    let limit = site.weekly_limit.unwrap_or(WEEKLY_LIMIT);
    let room = room(told.into_iter().map(instant::from_micros), now, limit);
    let moment = Moment {
        now,
        is_quiet_time: false,
        has_room: true,
        chance_limit: CHANCE_LIMIT,
    };
    let wanting: Vec<usize> = (0..standing.len())
        .filter(|index| {
            let it = &standing[*index];
            !it.episode.kind.is_safety() && it.episode.wants(&it.now.reading, &moment).is_some()
        })
        .collect();
    let weights: Vec<f64> = wanting.iter().map(|it| standing[*it].now.weight).collect();
    let mut rooms = vec![true; standing.len()];
    for (index, has_room) in wanting.iter().zip(chosen(&weights, room)) {
        rooms[*index] = has_room;
    }
    Ok(rooms)
}

fn is_quiet_time(site: &site_rows::Model, now: DateTime<Utc>) -> bool {
    let zone = instant::site_zone(&site.zone);
    let local = now.with_timezone(&zone).naive_local();
    sites::quiet_hours(site).is_some_and(|hours| hours.contains(local))
}

/// Takes one warning a step further, and writes what has become of it.
async fn go_on(
    tx: &DatabaseTransaction,
    standing: Standing,
    moment: &Moment,
    look: &mut Look,
) -> Result<(), Error> {
    let Standing {
        mut row,
        episode,
        now: it,
        is_new,
    } = standing;
    let wants = episode.wants(&it.reading, moment).is_some();
    let (next, happening) = step(&episode, &it.reading, moment);
    let before = row.clone();
    let row = &mut row;
    episode::write(row, &next);
    row.channels = it.channels.join(",");
    if let Some(figures) = &it.figures {
        row.details =
            serde_json::to_string(figures).map_err(|error| Error::Internal(error.to_string()))?;
    }
    let waits = wants && !moment.has_room && happening.is_none();
    row.held_back_at = match (waits, happening) {
        (true, _) => row.held_back_at.or(Some(moment.now.timestamp_micros())),
        (false, Some(_)) => None,
        (false, None) => row.held_back_at,
    };
    match happening {
        Some(Happening::Escalated) => row.says.clone_from(&it.louder),
        Some(Happening::Told) => row.says.clone_from(&it.says),
        // What was told stays as it was told; what was not is as it reads now.
        None if next.told.is_none() => row.says.clone_from(&it.says),
        Some(Happening::Closed) | None => {}
    }
    if is_new {
        // Somebody else may have opened it at this moment: then it is theirs to tell.
        if !store::warnings::open(tx, row).await? {
            return Ok(());
        }
        look.opened.extend(views(tx, row, moment.now).await?);
    } else if *row != before {
        store::warnings::update(tx, row).await?;
    }
    let Some(happening) = happening else {
        return Ok(());
    };
    let (kind, says) = match happening {
        Happening::Told => ("told", row.says.clone()),
        Happening::Escalated => ("escalated", row.says.clone()),
        Happening::Closed => ("closed", closed(row, &it)),
    };
    tell(tx, row, (kind, moment.now), says).await?;
    let list = match happening {
        Happening::Told => &mut look.told,
        Happening::Escalated => &mut look.escalated,
        Happening::Closed => &mut look.closed,
    };
    list.extend(views(tx, row, moment.now).await?);
    Ok(())
}

/// What the digest says of a warning that closed.
fn closed(row: &rows::Model, now: &Candidate) -> String {
    match &now.figures {
        Some(figures) => format!("{}: closed, {} available.", row.subject, figures.available),
        None if now.kind == WarningKind::TorchWear => {
            format!("{}: closed. {}", row.subject, now.says)
        }
        None => format!("{}: closed.", row.subject),
    }
}

/// Keeps what happened in a warning, and hands it on to be sent.
async fn tell(
    tx: &DatabaseTransaction,
    row: &rows::Model,
    (kind, now): (&str, DateTime<Utc>),
    says: String,
) -> Result<(), Error> {
    let event = match kind {
        "told" => EventKind::WarningTold,
        "escalated" => EventKind::WarningEscalated,
        _ => EventKind::WarningClosed,
    };
    warnings::keep_message(tx, row.id, (kind, now), says.clone()).await?;
    warnings::send(tx, row, (event, now), says).await
}

async fn views(
    tx: &DatabaseTransaction,
    row: &rows::Model,
    now: DateTime<Utc>,
) -> Result<Vec<types::Warning>, Error> {
    view::views(tx, std::slice::from_ref(row), (now, true)).await
}
