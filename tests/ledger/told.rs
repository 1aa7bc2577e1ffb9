//! What can be told to the ledger, and how it is told.

use std::collections::HashSet;

use server::service::ledger::{self, Answer};
use server::service::{Context, Error};
use types::{NewAllocation, NewCount, NewMovement, NewReceipt, NewReversal, NewTransfer, NewUsage};
use uuid::Uuid;

use crate::shop::{CALLER, JOBS, LOTS, PARTS, SITES, Shop, TORCHES, at};

/// The operator groups that appear.
pub(crate) const GROUPS: [&str; 2] = ["own", "beginner"];

/// A part at a site in a slot of time, as indices.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Place {
    /// Which of the parts.
    pub(crate) part: usize,
    /// Which of the sites.
    pub(crate) site: usize,
    /// When.
    pub(crate) slot: i64,
}

/// By whom, of which lot and for which job, as indices.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Label {
    /// Which of the groups.
    pub(crate) group: usize,
    /// Which of the lots.
    pub(crate) lot: Option<usize>,
    /// Which of the jobs.
    pub(crate) job: Option<usize>,
}

/// One entry.
#[derive(Clone, Debug)]
pub(crate) enum Told {
    /// Use of a torch: arc minutes, grinds, cut-backs, starts.
    Use {
        /// Which of the torches.
        torch: usize,
        /// When.
        slot: i64,
        /// Arc minutes, grinds, cut-backs and starts; not all nothing.
        worn: [i64; 4],
        /// What was done with how many of which part.
        done: Option<(&'static str, usize, i64)>,
        /// By whom, and the rest.
        label: Label,
    },
    /// A movement.
    Move(Place, &'static str, i64, Label),
    /// Goods came in, of a lot or none.
    Receive(Place, i64, Option<usize>),
    /// Somebody counted.
    Count(Place, i64),
    /// Pieces moved to the other site.
    Transfer(Place, i64, Option<usize>),
    /// So many of a part at a site are promised to a job from now on, in all.
    Promise(Place, usize, i64),
}

/// How a lot is written: now in capitals, now not, since case is of no account.
fn lot(lot: Option<usize>, slot: i64) -> Option<String> {
    let lot = LOTS[lot?];
    Some(if slot % 2 == 0 {
        lot.to_owned()
    } else {
        lot.to_lowercase()
    })
}

fn job(job: Option<usize>) -> Option<String> {
    job.map(|job| JOBS[job].to_owned())
}

impl Told {
    /// Tells it under a key.
    pub(crate) async fn tell(&self, shop: &Shop, key: &str) -> Result<Answer, Error> {
        self.tell_in(&shop.context, key).await
    }

    /// The same for what runs beside the shop.
    pub(crate) async fn tell_in(&self, context: &Context, key: &str) -> Result<Answer, Error> {
        match self.clone() {
            Self::Use { .. } => ledger::record_usage(context, CALLER, key, self.usage()).await,
            Self::Move(place, kind, quantity, label) => {
                let movement = movement(place, kind, quantity, label);
                ledger::record_movement(context, CALLER, key, movement).await
            }
            Self::Receive(place, quantity, of) => {
                let receipt = NewReceipt {
                    part: PARTS[place.part].to_owned(),
                    quantity,
                    site: Some(SITES[place.site].to_owned()),
                    at: Some(at(place.slot)),
                    lot: lot(of, place.slot),
                    ..NewReceipt::default()
                };
                ledger::record_receipt(context, CALLER, key, receipt).await
            }
            Self::Count(place, counted) => {
                let count = NewCount {
                    part: PARTS[place.part].to_owned(),
                    counted,
                    site: Some(SITES[place.site].to_owned()),
                    at: Some(at(place.slot)),
                    ..NewCount::default()
                };
                ledger::record_count(context, CALLER, key, count).await
            }
            Self::Transfer(place, quantity, of) => {
                let transfer = NewTransfer {
                    part: PARTS[place.part].to_owned(),
                    quantity,
                    from: SITES[place.site].to_owned(),
                    to: SITES[1 - place.site].to_owned(),
                    at: Some(at(place.slot)),
                    lot: lot(of, place.slot),
                    ..NewTransfer::default()
                };
                ledger::record_transfer(context, CALLER, key, transfer).await
            }
            Self::Promise(place, job, quantity) => {
                let promise = NewAllocation {
                    job: JOBS[job].to_owned(),
                    part: PARTS[place.part].to_owned(),
                    quantity,
                    site: Some(SITES[place.site].to_owned()),
                    ..NewAllocation::default()
                };
                ledger::record_allocation(context, CALLER, key, promise).await
            }
        }
    }

    fn usage(&self) -> NewUsage {
        let Self::Use {
            torch,
            slot,
            worn: [arc_minutes, grinds, cut_backs, starts],
            done,
            label,
        } = *self
        else {
            panic!("{self:?} is no use");
        };
        NewUsage {
            torch: Some(TORCHES[torch].to_owned()),
            arc_minutes: Some(arc_minutes),
            grinds: Some(grinds),
            cut_backs: Some(cut_backs),
            starts: Some(starts),
            amps: (starts > 0).then_some(100 + 20 * (starts % 4)),
            polarity: (arc_minutes > 0).then(|| "AC".to_owned()),
            what: done.map(|(what, _, _)| what.to_owned()),
            part: done.map(|(_, part, _)| PARTS[part].to_owned()),
            qty: done.map(|(_, _, quantity)| quantity),
            at: Some(at(slot)),
            group: Some(GROUPS[label.group].to_owned()),
            lot: lot(label.lot, slot),
            job: job(label.job),
            ..NewUsage::default()
        }
    }

    /// The place of a count.
    pub(crate) fn counts(&self) -> Option<Place> {
        match self {
            Self::Count(place, _) => Some(*place),
            Self::Use { .. }
            | Self::Move(..)
            | Self::Receive(..)
            | Self::Transfer(..)
            | Self::Promise(..) => None,
        }
    }
}

fn movement(place: Place, kind: &str, quantity: i64, label: Label) -> NewMovement {
    NewMovement {
        part: PARTS[place.part].to_owned(),
        kind: kind.to_owned(),
        quantity,
        why: Some("invented".to_owned()),
        site: Some(SITES[place.site].to_owned()),
        at: Some(at(place.slot)),
        group: Some(GROUPS[label.group].to_owned()),
        lot: lot(label.lot, place.slot),
        job: job(label.job),
        ..NewMovement::default()
    }
}

/// Takes an entry back.
pub(crate) async fn take_back(shop: &Shop, entry: Uuid, key: &str) -> Result<Answer, Error> {
    let reversal = NewReversal { entry, why: None };
    ledger::record_reversal(&shop.context, CALLER, key, reversal).await
}

/// Drops every count that ties with an earlier one.
pub(crate) fn without_tied_counts<T>(all: Vec<T>, told: impl Fn(&T) -> Option<&Told>) -> Vec<T> {
    let mut seen = HashSet::new();
    let tied = |each: &T| {
        told(each)
            .and_then(Told::counts)
            .is_none_or(|place| seen.insert(place))
    };
    let mut keep = tied;
    all.into_iter().filter(|each| keep(each)).collect()
}
