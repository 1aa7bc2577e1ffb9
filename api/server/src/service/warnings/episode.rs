//! A row of the database as an episode of the domain, and back.

use domain::warning::{Episode, Quiet, Told, WarningKind};

use crate::service::{Error, instant};
use crate::store::entity::warnings;

/// The episode that a row keeps.
pub fn read(row: &warnings::Model) -> Result<Episode, Error> {
    let kind = WarningKind::parse(&row.kind).map_err(|error| Error::Internal(error.to_string()))?;
    let told = row.told_at.map(|at| Told {
        at: instant::from_micros(at),
        chance: row.told_chance.unwrap_or(0.0),
    });
    let quiet = row
        .quiet_until
        .map(|until| Quiet::kept(instant::from_micros(until), row.quiet_on_hand));
    Ok(Episode {
        kind,
        opened_at: instant::from_micros(row.opened_at),
        told,
        escalated_at: row.escalated_at.map(instant::from_micros),
        quiet,
        acknowledged_at: row.acknowledged_at.map(instant::from_micros),
        closed_at: row.closed_at.map(instant::from_micros),
    })
}

/// The row with what has become of its episode.
pub fn write(row: &mut warnings::Model, episode: &Episode) {
    row.told_at = episode.told.map(|told| told.at.timestamp_micros());
    row.told_chance = episode.told.map(|told| told.chance);
    row.escalated_at = episode.escalated_at.map(|at| at.timestamp_micros());
    row.quiet_until = episode.quiet.map(|it| it.until().timestamp_micros());
    row.quiet_on_hand = episode.quiet.and_then(|it| it.on_hand());
    row.acknowledged_at = episode.acknowledged_at.map(|at| at.timestamp_micros());
    row.closed_at = episode.closed_at.map(|at| at.timestamp_micros());
    if row.closed_at.is_some() {
        row.open_subject = None;
    }
}
