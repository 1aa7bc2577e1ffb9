//! What was changed on a torch, set-up by set-up: the parts that were new. What follows from a change is not
//! here.

use std::collections::{HashMap, HashSet};

use chrono_tz::Tz;
use domain::part::PartKind;
use sea_orm::ConnectionTrait;

use crate::service::{Error, instant};
use crate::store;
use crate::store::entity::{parts as part_rows, torches};

/// A set-up of a torch, and what was new in it.
#[derive(Clone, Debug)]
pub(super) struct Change {
    pub(super) set_up: i64,
    /// When it was fitted.
    pub(super) at: i64,
    /// The number of the day, in the zone of the site.
    pub(super) day: i64,
    /// What is fitted.
    pub(super) fitted: Vec<part_rows::Model>,
    /// The new parts among it, rear to tip.
    pub(super) new: Vec<part_rows::Model>,
}

impl Change {
    /// Whether a part of such a kind is new in it.
    pub(super) fn renews(&self, kinds: &[PartKind]) -> bool {
        self.kinds().iter().any(|kind| kinds.contains(kind))
    }

    /// The kinds of the new parts.
    pub(super) fn kinds(&self) -> Vec<PartKind> {
        let kinds = self.new.iter().map(|part| PartKind::parse(&part.kind));
        kinds.filter_map(Result::ok).collect()
    }

    /// The codes of the new parts.
    pub(super) fn codes(&self) -> Vec<String> {
        self.new.iter().map(|part| part.code.clone()).collect()
    }
}

/// The set-ups of those torches up to an instant, oldest first; all parts of the first are new.
pub(super) async fn of_torches(
    db: &impl ConnectionTrait,
    torches: &[torches::Model],
    (zone, until): (Tz, i64),
) -> Result<HashMap<i64, Vec<Change>>, Error> {
    let mut set_ups = store::torches::set_ups(db, torches.iter().map(|it| it.id)).await?;
    set_ups.retain(|set_up| set_up.fitted_at <= until);
    let fitted = store::torches::fitted_parts(db, set_ups.iter().map(|it| it.id)).await?;
    let mut parts: HashMap<i64, Vec<(bool, part_rows::Model)>> = HashMap::new();
    for (row, part) in fitted {
        let of_set_up = parts.entry(row.set_up_id).or_default();
        of_set_up.push((row.renewed, part));
    }
    let mut before: HashMap<i64, HashSet<i64>> = HashMap::new();
    let mut changes: HashMap<i64, Vec<Change>> = HashMap::new();
    for set_up in set_ups {
        let these = parts.remove(&set_up.id).unwrap_or_default();
        let had = before.entry(set_up.torch_id).or_default();
        let is_new =
            |(renewed, part): &&(bool, part_rows::Model)| *renewed || !had.contains(&part.id);
        let new = these.iter().filter(is_new).map(|(_, part)| part.clone());
        let new = new.collect();
        *had = these.iter().map(|(_, part)| part.id).collect();
        let at = set_up.fitted_at;
        changes.entry(set_up.torch_id).or_default().push(Change {
            set_up: set_up.id,
            at,
            day: instant::day_number(instant::from_micros(at), zone),
            fitted: these.into_iter().map(|(_, part)| part).collect(),
            new,
        });
    }
    Ok(changes)
}
