//! What can be told to the ledger, and how proptest makes it up. Times often tie; only two counts of
//! one part at one instant are avoided, since of those the later to arrive wins.

use std::collections::HashSet;

use proptest::prelude::*;
use server::service::ledger::{self, Answer};
use server::service::{Context, Error};
use types::{NewCount, NewMovement, NewReceipt, NewReversal, NewUsage};
use uuid::Uuid;

use crate::shop::{CALLER, PARTS, SITES, SLOTS, Shop, TORCHES, at};

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

/// One entry.
#[derive(Clone, Debug)]
pub(crate) enum Told {
    /// Use of a torch: arc minutes, grinds, cut-backs, starts.
    Use {
        /// Which of the torches.
        torch: usize,
        /// When.
        slot: i64,
        /// Which of the groups.
        group: usize,
        /// Arc minutes, grinds, cut-backs and starts; not all nothing.
        worn: [i64; 4],
        /// What was done with how many of which part.
        done: Option<(&'static str, usize, i64)>,
    },
    /// A movement.
    Move(Place, &'static str, i64, usize),
    /// Goods came in.
    Receive(Place, i64),
    /// Somebody counted.
    Count(Place, i64),
}

impl Told {
    /// Tells it under a key.
    pub(crate) async fn tell(&self, shop: &Shop, key: &str) -> Result<Answer, Error> {
        self.tell_in(&shop.context, key).await
    }

    /// The same for what runs beside the shop.
    pub(crate) async fn tell_in(&self, context: &Context, key: &str) -> Result<Answer, Error> {
        match self.clone() {
            Self::Use {
                torch,
                slot,
                group,
                worn: [arc_minutes, grinds, cut_backs, starts],
                done,
            } => {
                let usage = NewUsage {
                    torch: Some(TORCHES[torch].to_owned()),
                    arc_minutes: Some(arc_minutes),
                    grinds: Some(grinds),
                    cut_backs: Some(cut_backs),
                    starts: Some(starts),
                    what: done.map(|(what, _, _)| what.to_owned()),
                    part: done.map(|(_, part, _)| PARTS[part].to_owned()),
                    qty: done.map(|(_, _, quantity)| quantity),
                    at: Some(at(slot)),
                    group: Some(GROUPS[group].to_owned()),
                    ..NewUsage::default()
                };
                ledger::record_usage(context, CALLER, key, usage).await
            }
            Self::Move(place, kind, quantity, group) => {
                let movement = NewMovement {
                    part: PARTS[place.part].to_owned(),
                    kind: kind.to_owned(),
                    quantity,
                    why: Some("invented".to_owned()),
                    site: Some(SITES[place.site].to_owned()),
                    at: Some(at(place.slot)),
                    group: Some(GROUPS[group].to_owned()),
                    ..NewMovement::default()
                };
                ledger::record_movement(context, CALLER, key, movement).await
            }
            Self::Receive(place, quantity) => {
                let receipt = NewReceipt {
                    part: PARTS[place.part].to_owned(),
                    quantity,
                    site: Some(SITES[place.site].to_owned()),
                    at: Some(at(place.slot)),
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
        }
    }

    /// The place of a count.
    pub(crate) fn counts(&self) -> Option<Place> {
        match self {
            Self::Count(place, _) => Some(*place),
            Self::Use { .. } | Self::Move(..) | Self::Receive(..) => None,
        }
    }
}

/// Takes an entry back.
pub(crate) async fn take_back(shop: &Shop, entry: Uuid, key: &str) -> Result<Answer, Error> {
    let reversal = NewReversal { entry, why: None };
    ledger::record_reversal(&shop.context, CALLER, key, reversal).await
}

/// Any place; mostly one and the same part and site, so that entries meet.
pub(crate) fn place() -> impl Strategy<Value = Place> {
    let part = prop_oneof![3 => Just(0), 1 => 0..PARTS.len()];
    let site = prop_oneof![3 => Just(0), 1 => 0..SITES.len()];
    (part, site, 0..SLOTS).prop_map(|(part, site, slot)| Place { part, site, slot })
}

/// Any entry.
pub(crate) fn told() -> impl Strategy<Value = Told> {
    let done = (
        prop::sample::select(vec!["took", "put-back", "broke", "lost"]),
        0..PARTS.len(),
        1_i64..4,
    );
    let worn = [0_i64..90, 0_i64..4, 0_i64..2, 0_i64..30]
        .prop_filter("nothing was done", |worn| worn.iter().any(|each| *each > 0));
    let used = (
        0..TORCHES.len(),
        0..SLOTS,
        0..GROUPS.len(),
        worn,
        prop::option::of(done),
    );
    let kinds = vec!["issue", "return", "scrap", "adjustment", "hold", "release"];
    let moved = (
        place(),
        prop::sample::select(kinds),
        1_i64..6,
        0..GROUPS.len(),
    );
    prop_oneof![
        4 => used.prop_map(|(torch, slot, group, worn, done)| Told::Use { torch, slot, group, worn, done }),
        3 => moved.prop_map(|(place, kind, quantity, group)| {
            // An adjustment goes either way.
            let down = kind == "adjustment" && quantity % 2 == 0;
            Told::Move(place, kind, if down { -quantity } else { quantity }, group)
        }),
        1 => (place(), 1_i64..12).prop_map(|(place, quantity)| Told::Receive(place, quantity)),
        2 => (place(), 0_i64..12).prop_map(|(place, counted)| Told::Count(place, counted)),
    ]
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
