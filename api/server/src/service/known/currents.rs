//! What wear is learned from by the current that was told, as it is kept for the present and computed from the
//! ledger for any other instant.

use std::collections::BTreeMap;

use domain::ledger::MovementKind;
use sea_orm::ConnectionTrait;

use super::{View, add, kind};
use crate::service::Error;
use crate::store;
use crate::store::entity::wear_currents::Model;
use crate::store::past::{self, AtCurrent, Facts};

/// A part at a site, the group, the polarity and the current.
pub(crate) type CurrentKey = (i64, i64, String, String, i64);

/// The key of a row.
pub(crate) fn current_key(row: &Model) -> CurrentKey {
    (
        row.part_id,
        row.site_id,
        row.operator_group.clone(),
        row.polarity.clone(),
        row.amps,
    )
}

/// Sums of nothing.
pub(crate) fn nothing_at(key: CurrentKey) -> Model {
    let (part_id, site_id, operator_group, polarity, amps) = key;
    Model {
        part_id,
        site_id,
        operator_group,
        polarity,
        amps,
        events: 0,
        arc_seconds: 0,
        grinds: 0,
    }
}

/// What wear of those parts at a site is learned from by current, all groups.
pub async fn wear_currents(
    db: &impl ConnectionTrait,
    view: View,
    (site, parts): (i64, &[i64]),
) -> Result<Vec<Model>, Error> {
    match view.facts {
        Some(facts) => currents_from(db, facts, (site, parts)).await,
        None => Ok(store::wear_currents::find_many(db, (site, parts)).await?),
    }
}

/// The same, from the facts.
pub async fn currents_from(
    db: &impl ConnectionTrait,
    facts: Facts,
    (site, parts): (i64, &[i64]),
) -> Result<Vec<Model>, Error> {
    let kinds = MovementKind::ALL
        .iter()
        .filter(|kind| kind.wear_events(1) != 0);
    let kinds: Vec<&str> = kinds.map(|kind| kind.as_str()).collect();
    let mut rows: BTreeMap<CurrentKey, Model> = BTreeMap::new();
    let mut row = |at: &AtCurrent, (events, arc, grinds): (i64, i64, i64)| -> Result<(), Error> {
        let key = (
            at.part_id,
            site,
            at.operator_group.clone(),
            at.polarity.clone(),
            at.amps,
        );
        let sums = rows.entry(key.clone()).or_insert_with(|| nothing_at(key));
        add(&mut sums.events, events)?;
        add(&mut sums.arc_seconds, arc)?;
        add(&mut sums.grinds, grinds)
    };
    for used in past::used_at(db, (site, parts), &kinds, facts).await? {
        let events = kind(&used.kind)?.wear_events(used.quantity);
        row(&used, (events, 0, 0))?;
    }
    for worn in past::exposed_at(db, (site, parts), facts).await? {
        row(&worn, (0, worn.arc_seconds, worn.grinds))?;
    }
    Ok(rows.into_values().collect())
}
