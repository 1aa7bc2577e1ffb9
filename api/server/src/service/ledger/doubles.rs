//! Double entries: two people, or two devices, log the same change at one torch. Both are recorded,
//! and a person is asked; until then the book counts both.

use chrono::TimeDelta;
use domain::question::QuestionKind;
use sea_orm::ConnectionTrait;
use serde::{Deserialize, Serialize};
use types::What;
use uuid::Uuid;

use super::names::{Names, Torch};
use super::{Body, Request};
use crate::service::questions::NewQuestion;
use crate::service::{Error, instant};
use crate::store;
use crate::store::entity::{entries, parts};

/// Two entries of the same change are at most so far apart. Nobody changes a tip twice in ten
/// minutes while somebody else does; common practice.
const APART: TimeDelta = TimeDelta::minutes(10);

/// A part taken at a torch, by somebody.
#[derive(Clone, Debug)]
pub(super) struct Change {
    entry: Uuid,
    torch: i64,
    part: i64,
    quantity: i64,
    at: i64,
    offset_minutes: i64,
    person: Option<String>,
    group: String,
    key: Option<Uuid>,
}

/// What a question about a double entry remembers: how many pieces are in doubt, and since when.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Double {
    /// How many pieces the later entry took.
    pub quantity: i64,
    /// When, in microseconds.
    pub at: i64,
}

impl Change {
    /// What an entry took of a part at its torch, if it did.
    fn of(entry: &entries::Model, part: i64, quantity: i64) -> Option<Self> {
        Some(Self {
            entry: entry.id,
            torch: entry.torch_id?,
            part,
            quantity,
            at: entry.happened_at,
            offset_minutes: entry.offset_minutes,
            person: entry.person.clone(),
            group: entry.operator_group.clone(),
            key: entry.key_id,
        })
    }

    /// Whether the other may be the same change told by somebody else. The same person means what
    /// they say: two tips.
    fn may_be(&self, other: &Self) -> bool {
        let somebody_else = match (&self.person, &other.person) {
            (Some(one), Some(two)) => !one.eq_ignore_ascii_case(two),
            _ => self.key != other.key,
        };
        let apart = TimeDelta::microseconds((self.at - other.at).abs());
        (self.torch, self.part) == (other.torch, other.part) && apart <= APART && somebody_else
    }

    /// `helper 14:02`
    fn told(&self) -> String {
        let who = self.person.as_deref().unwrap_or(&self.group);
        let at = instant::with_offset(self.at, self.offset_minutes);
        format!("{who} {}", at.format("%H:%M"))
    }
}

/// Whether an entry takes something that two people could log.
fn takes(request: &Request) -> bool {
    let taken = matches!(
        request.body,
        Body::Usage(_, Some(What::Took | What::Broke | What::Lost))
    );
    taken && !request.history && !request.trusted && request.torch().is_some()
}

/// What was taken at the torches of a set shortly before and after.
pub(super) async fn changes(
    db: &impl ConnectionTrait,
    set: &[Request],
    names: &Names,
) -> Result<Vec<Change>, Error> {
    let asking: Vec<(i64, i64)> = set
        .iter()
        .filter(|request| takes(request))
        .filter_map(|request| Some((names.torch_id(request.torch()?)?, request.at_micros())))
        .collect();
    let Some(first) = asking.iter().map(|(_, at)| *at).min() else {
        return Ok(Vec::new());
    };
    let last = asking.iter().map(|(_, at)| *at).max().unwrap_or(first);
    let apart = APART.num_microseconds().unwrap_or(0);
    let torches = asking.iter().map(|(torch, _)| *torch);
    let near = (first - apart, last + apart);
    let rows = store::entries::taken_at(db, torches, near, whose(set)).await?;
    let reversed = store::entries::reversed(db, rows.iter().map(|row| row.id)).await?;
    let moved = store::movements::of_entries(db, rows.iter().map(|row| row.id)).await?;
    let changes = rows
        .iter()
        .filter(|row| !reversed.contains(&row.id))
        .filter_map(|row| {
            let moved = moved.iter().find(|moved| moved.entry_id == row.id)?;
            Change::of(row, moved.part_id, moved.quantity)
        });
    Ok(changes.collect())
}

/// The key and person of a set that one person sends: what they logged themselves need not be read.
fn whose(set: &[Request]) -> Option<(Option<Uuid>, Option<&str>)> {
    let mut whose = set.iter().map(|request| {
        (
            request.caller.key,
            request.circumstances().and_then(|told| told.by),
        )
    });
    let first = whose.next()?;
    whose.all(|other| other == first).then_some(first)
}

/// The question about an entry that just took something, if somebody else logged the like; and the
/// entry is one of those that the next is compared with.
pub(super) fn question(
    changes: &mut Vec<Change>,
    request: &Request,
    entry: &entries::Model,
    (torch, part, quantity): (Option<Torch<'_>>, &parts::Model, i64),
) -> Result<Option<NewQuestion>, Error> {
    if !takes(request) {
        return Ok(None);
    }
    let (Some(torch), Some(new)) = (torch, Change::of(entry, part.id, quantity)) else {
        return Ok(None);
    };
    let near = changes.iter().filter(|other| new.may_be(other));
    let near = near.min_by_key(|other| (new.at - other.at).abs()).cloned();
    changes.push(new.clone());
    let Some(other) = near else { return Ok(None) };
    let (earlier, later) = if other.at <= new.at {
        (other, new)
    } else {
        (new, other)
    };
    let double = Double {
        quantity: later.quantity,
        at: later.at,
    };
    Ok(Some(NewQuestion {
        kind: QuestionKind::DoubleEntry,
        site: entry.site_id,
        part: Some(part.id),
        entry: Some(later.entry),
        other_entry: Some(earlier.entry),
        subject: format!("double:{}:{}", earlier.entry, later.entry),
        details: serde_json::to_value(double)
            .map_err(|error| Error::Internal(error.to_string()))?,
        says: format!(
            "Possible double entry on {}: {}, {}. Same tip change?",
            torch.row.code,
            earlier.told(),
            later.told()
        ),
    }))
}
