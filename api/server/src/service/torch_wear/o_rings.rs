//! The age of the O-rings in torches, from set-ups and the record. When one is worth a look is in
//! `domain::o_ring`.

use chrono::{DateTime, Utc};
use domain::exposure::Driver;
use domain::ledger::MovementKind;
use domain::o_ring::{Clock, Due, Limits, MONTHS_ASSUMED, REMOVALS_ASSUMED, Removals};
use domain::part::PartKind;
use sea_orm::ConnectionTrait;
use types::ORingAge;

use super::changes::Change;
use super::record::count;
use crate::service::{Error, forecasts, instant};
use crate::store;
use crate::store::entity::{parts as part_rows, sites, torches};
use crate::store::past::Facts;

/// Kinds whose refit takes the back cap off.
const BEHIND_THE_CAP: [PartKind; 4] = [
    PartKind::BackCap,
    PartKind::ORing,
    PartKind::Electrode,
    PartKind::Collet,
];

/// The age of the O-ring that is fitted in a torch; nothing if none is.
pub(super) async fn age(
    db: &impl ConnectionTrait,
    (torch, site): (&torches::Model, &sites::Model),
    changes: &[Change],
    at: DateTime<Utc>,
) -> Result<Option<ORingAge>, Error> {
    let is_ring = |part: &&part_rows::Model| part.kind == PartKind::ORing.as_str();
    let fitted = changes
        .last()
        .and_then(|now| now.fitted.iter().find(is_ring));
    let Some(ring) = fitted else { return Ok(None) };
    let Some(since) = changes.iter().rposition(|it| it.renews(&[PartKind::ORing])) else {
        return Ok(None);
    };
    let (since, later) = (&changes[since], &changes[since + 1..]);
    let facts = Facts::HappenedBy(at.timestamp_micros());
    let window = (torch.id, since.at);
    let grinds = store::torch_wear::ground_since(db, window, facts).await?;
    let kinds = MovementKind::ALL
        .iter()
        .filter(|kind| kind.wear_events(1) != 0);
    let kinds: Vec<&str> = kinds.map(|kind| kind.as_str()).collect();
    let electrode = PartKind::Electrode.as_str();
    let moved = store::torch_wear::moved_since(db, window, (electrode, &kinds), facts).await?;
    let mut electrodes = 0;
    for sum in moved {
        let kind =
            MovementKind::parse(&sum.kind).map_err(|error| Error::Internal(error.to_string()))?;
        electrodes += kind.wear_events(sum.quantity);
    }
    let refits = later.iter().filter(|it| it.renews(&BEHIND_THE_CAP)).count();
    let removals = Removals {
        grinds: count(grinds),
        electrodes: count(electrodes),
        refits: u64::try_from(refits).unwrap_or(0),
    };
    let zone = instant::site_zone(&site.zone);
    let fitted_at = instant::from_micros(since.at);
    let today = at.with_timezone(&zone).date_naive();
    let fitted_on = fitted_at.with_timezone(&zone).date_naive();
    let clock = Clock::new(fitted_on, today, removals);
    let limits = limits(ring);
    let due = clock.due(limits);
    let assumed = ring.renew_months.is_none() && ring.renew_removals.is_none();
    Ok(Some(ORingAge {
        part: ring.code.clone(),
        fitted_at,
        months: i64::from(clock.months),
        removals: forecasts::whole(removals.sum()),
        limit_months: i64::from(limits.months),
        limit_removals: forecasts::whole(limits.removals),
        assumed,
        due: due.is_some(),
        says: says(&torch.code, (&clock, due), (limits, assumed)),
    }))
}

/// The limits of the shop, or the starting assumption.
fn limits(ring: &part_rows::Model) -> Limits {
    let months = ring.renew_months.and_then(|it| u32::try_from(it).ok());
    let removals = ring.renew_removals.and_then(|it| u64::try_from(it).ok());
    Limits {
        months: months.unwrap_or(MONTHS_ASSUMED),
        removals: removals.unwrap_or(REMOVALS_ASSUMED),
    }
}

fn says(
    torch: &str,
    (clock, due): (&Clock, Option<Due>),
    (limits, assumed): (Limits, bool),
) -> String {
    let removals = clock.removals;
    let of = |number: u64, one: &str, many: &str| {
        format!("{number} {}", if number == 1 { one } else { many })
    };
    let age = format!(
        "O-ring of {torch}: {} and {} since it was fitted ({}, {}, {}; what was only looked at is not known).",
        of(u64::from(clock.months), "month", "months"),
        of(removals.sum(), "known cap removal", "known cap removals"),
        of(
            removals.grinds,
            Driver::Grinds.noun(),
            Driver::Grinds.plural()
        ),
        of(
            removals.electrodes,
            "electrode changed",
            "electrodes changed"
        ),
        of(removals.refits, "refit", "refits"),
    );
    let whose = if assumed {
        " (starting assumption)"
    } else {
        ""
    };
    let (months, cap) = (limits.months, limits.removals);
    let limit = match due {
        None => format!(" Look at it at {months} months or {cap} removals{whose}."),
        Some(due) => {
            let reached = match due {
                Due::Months => format!("{months} months"),
                Due::Removals => format!("{cap} removals"),
                Due::Both => format!("{months} months and {cap} removals"),
            };
            format!(
                " Limit {reached}{whose}. Next: look at it, and fit a new one if it is nicked, flat or hard."
            )
        }
    };
    age + &limit
}
