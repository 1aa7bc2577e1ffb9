//! How far books may have drifted: what happened to each part since its newest count, and what past
//! counts found.

use std::collections::HashMap;

use chrono::{DateTime, TimeDelta, Utc};
use domain::counting::{ErrorRates, Interval};
use domain::ledger::MovementKind;
use domain::part::{PartKind, Unit};
use sea_orm::ConnectionTrait;

use crate::service::{Error, forecasts::whole, instant};
use crate::store;
use crate::store::entity::{counts, movements, sites};

/// Older counts say little of how entries are kept today.
const REMEMBERED: TimeDelta = TimeDelta::weeks(104);

/// What happened to a part since its newest count.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Drift {
    /// When that was; none if it was never counted.
    pub(super) counted_at: Option<DateTime<Utc>>,
    /// Movements since.
    pub(super) movements: u64,
    /// Weeks since.
    pub(super) weeks: f64,
}

/// The drift of every part of a site that was ever counted, and how often books go wrong there.
#[derive(Debug)]
pub(super) struct Drifts {
    parts: HashMap<i64, Drift>,
    /// How often books go wrong, learned from the counts of two years.
    pub(super) rates: ErrorRates,
    /// From how many counts.
    pub(super) intervals: usize,
    /// Pieces that were missing, and pieces too many.
    pub(super) pieces: (i64, i64),
}

/// The movements of each part.
type ByPart = HashMap<i64, Vec<movements::Model>>;

impl Drifts {
    /// Reads the counts of two years and what moved between and after them.
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        site: &sites::Model,
        now: DateTime<Utc>,
    ) -> Result<Self, Error> {
        let since = (now - REMEMBERED).timestamp_micros();
        let now = now.timestamp_micros();
        let counts = store::counts::standing_at(db, site.id, (since, now)).await?;
        let newest = newest(db, site, &counts, now).await?;
        let oldest = newest.values().copied().fold(since, i64::min);
        let moved = store::movements::within(db, (None, site.id), (oldest, now + 1)).await?;
        let mut by_part = ByPart::new();
        for row in moved.into_iter().filter(is_occasion) {
            by_part.entry(row.part_id).or_default().push(row);
        }
        let past = intervals(&pieces_only(db, counts).await?, &by_part);
        let rates = ErrorRates::assumed().learned(&past);
        let drift = |(part, at): (i64, i64)| {
            let moved = by_part.get(&part).map_or(&[][..], Vec::as_slice);
            let drift = Drift {
                counted_at: Some(instant::from_micros(at)),
                movements: number(moved.iter().filter(|row| row.happened_at > at)),
                weeks: weeks(at, now),
            };
            (part, drift)
        };
        Ok(Self {
            parts: newest.into_iter().map(drift).collect(),
            rates: rates.map_err(|error| Error::Internal(error.to_string()))?,
            intervals: past.len(),
            pieces: (
                past.iter().map(|it| whole(it.pieces().0)).sum(),
                past.iter().map(|it| whole(it.pieces().1)).sum(),
            ),
        })
    }

    /// The drift of a part.
    pub(super) fn of(&self, part: i64) -> Drift {
        self.parts.get(&part).copied().unwrap_or_default()
    }
}

/// When each part of a site was last counted, also if that is more than two years ago.
async fn newest(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    counts: &[counts::Model],
    now: i64,
) -> Result<HashMap<i64, i64>, Error> {
    let mut newest: HashMap<i64, i64> = counts
        .iter()
        .map(|count| (count.part_id, count.happened_at))
        .collect();
    for level in store::levels::all(db).await? {
        let at = level.counted_at.filter(|at| *at <= now);
        if let Some(at) = at.filter(|_| level.site_id == site.id) {
            newest.entry(level.part_id).or_insert(at);
        }
    }
    Ok(newest)
}

/// Whether a movement is one at which an entry could have been missed. What was booked because a
/// count had found an error is what became of that error, and no further occasion.
fn is_occasion(row: &movements::Model) -> bool {
    MovementKind::parse(&row.kind).is_ok_and(|kind| {
        kind.on_hand_sign() != 0
            && !matches!(kind, MovementKind::UnloggedUse | MovementKind::Adjustment)
    })
}

/// The counts of what is counted by the piece.
async fn pieces_only(
    db: &impl ConnectionTrait,
    mut counts: Vec<counts::Model>,
) -> Result<Vec<counts::Model>, Error> {
    let parts = store::parts::get_many(db, counts.iter().map(|count| count.part_id)).await?;
    let pieces: HashMap<i64, bool> = parts
        .iter()
        .map(|part| {
            let kind = PartKind::parse(&part.kind);
            (part.id, kind.is_ok_and(|kind| kind.unit() == Unit::Piece))
        })
        .collect();
    counts.retain(|count| pieces.get(&count.part_id) == Some(&true));
    Ok(counts)
}

/// What past counts found, by what is on record now: entries that came in late explain a variance,
/// what was booked to put it right does not.
fn intervals(counts: &[counts::Model], moved: &ByPart) -> Vec<Interval> {
    let mut last: HashMap<i64, &counts::Model> = HashMap::new();
    let mut past = Vec::new();
    for count in counts {
        let Some(before) = last.insert(count.part_id, count) else {
            continue;
        };
        let moved = moved.get(&count.part_id).map_or(&[][..], Vec::as_slice);
        let span = before.happened_at + 1..=count.happened_at;
        let between = || moved.iter().filter(|row| span.contains(&row.happened_at));
        let book = between().fold(before.counted, |book, row| {
            let sign = MovementKind::parse(&row.kind).map_or(0, MovementKind::on_hand_sign);
            book.saturating_add(sign * row.quantity)
        });
        past.push(Interval {
            movements: number(between()),
            weeks: weeks(before.happened_at, count.happened_at),
            variance: count.counted.saturating_sub(book),
        });
    }
    past
}

fn number<T>(of: impl Iterator<Item = T>) -> u64 {
    u64::try_from(of.count()).unwrap_or(u64::MAX)
}

fn weeks(from: i64, to: i64) -> f64 {
    let span = instant::from_micros(to) - instant::from_micros(from);
    span.as_seconds_f64() / TimeDelta::weeks(1).as_seconds_f64()
}
