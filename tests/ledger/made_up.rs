//! How proptest makes up what is told. Mostly it is of one part at one site, of one lot, so that
//! entries meet; times often tie.

use proptest::prelude::*;

use crate::shop::{JOBS, LOTS, PARTS, SITES, SLOTS, TORCHES};
use crate::told::{GROUPS, Label, Place, Told};

/// Where most of it happens.
fn here(slot: i64) -> Place {
    Place {
        part: 0,
        site: 0,
        slot,
    }
}

/// Any place.
pub(crate) fn place() -> impl Strategy<Value = Place> {
    let part = prop_oneof![3 => Just(0), 1 => 0..PARTS.len()];
    let site = prop_oneof![3 => Just(0), 1 => 0..SITES.len()];
    (part, site, 0..SLOTS).prop_map(|(part, site, slot)| Place { part, site, slot })
}

/// Any lot, or none.
pub(crate) fn lot() -> impl Strategy<Value = Option<usize>> {
    prop_oneof![3 => Just(None), 3 => Just(Some(0)), 1 => (0..LOTS.len()).prop_map(Some)]
}

fn label() -> impl Strategy<Value = Label> {
    let job = prop::option::weighted(0.6, 0..JOBS.len());
    (0..GROUPS.len(), lot(), job).prop_map(|(group, lot, job)| Label { group, lot, job })
}

fn used() -> impl Strategy<Value = Told> {
    let done = (
        prop::sample::select(vec!["took", "put-back", "broke", "lost"]),
        prop_oneof![2 => Just(0), 1 => 0..PARTS.len()],
        1_i64..4,
    );
    let worn = [0_i64..90, 0_i64..4, 0_i64..2, 0_i64..30]
        .prop_filter("nothing was done", |worn| worn.iter().any(|each| *each > 0));
    let done = prop::option::weighted(0.7, done);
    let torch = 0..TORCHES.len();
    (torch, 0..SLOTS, worn, done, label()).prop_map(|(torch, slot, worn, done, label)| Told::Use {
        torch,
        slot,
        worn,
        done,
        label,
    })
}

fn moved() -> impl Strategy<Value = Told> {
    let kinds = vec![
        "issue",
        "return",
        "scrap",
        "supplier-return",
        "adjustment",
        "hold",
        "release",
    ];
    let kind = prop::sample::select(kinds);
    (place(), kind, 1_i64..6, label()).prop_map(|(place, kind, quantity, label)| {
        // An adjustment goes either way.
        let down = kind == "adjustment" && quantity % 2 == 0;
        Told::Move(place, kind, if down { -quantity } else { quantity }, label)
    })
}

/// What is put on hold and released in one place, of one lot or none.
fn held() -> impl Strategy<Value = Told> {
    let kind = prop::sample::select(vec!["hold", "release"]);
    let lot = prop::option::of(Just(0));
    (0..SLOTS, kind, 1_i64..4, lot).prop_map(|(slot, kind, quantity, lot)| {
        let label = Label {
            lot,
            ..Label::default()
        };
        let place = here(slot);
        Told::Move(place, kind, quantity, label)
    })
}

/// Any entry.
pub(crate) fn told() -> impl Strategy<Value = Told> {
    let received = (place(), 1_i64..12, lot());
    let there = prop_oneof![place(), (0..SLOTS).prop_map(here)];
    let counted = (there, 0_i64..12);
    let transferred = (place(), 1_i64..5, lot());
    let promised = (place(), 0..JOBS.len(), 0_i64..6);
    prop_oneof![
        4 => used(),
        4 => moved(),
        3 => held(),
        2 => received.prop_map(|(place, quantity, lot)| Told::Receive(place, quantity, lot)),
        3 => counted.prop_map(|(place, counted)| Told::Count(place, counted)),
        2 => transferred.prop_map(|(place, quantity, lot)| Told::Transfer(place, quantity, lot)),
        2 => promised.prop_map(|(place, job, quantity)| Told::Promise(place, job, quantity)),
    ]
}
