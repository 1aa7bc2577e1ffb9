//! The order of arrival is of no account: phones come back late, and two people log the same
//! afternoon. Two counts of a part at one instant are left out, since there the later arrival wins;
//! `histories` has those.

use proptest::prelude::*;
use uuid::Uuid;

use crate::made_up::told;
use crate::model::Model;
use crate::shop::{LOCKED, LOTS, PARTS, SITES, Shop, begun, cases, entry, run};
use crate::told::{Label, Place, Told, take_back, without_tied_counts};

/// More than is ever released, so that no release depends on what arrived before.
const HELD: i64 = 1_000;
/// More than is ever moved, and more than is held.
const PLENTY: i64 = 5_000;
/// The part that is moved between the sites: there is always plenty of it, by every count as well, so
/// that no transfer depends on what arrived before.
const MOVED: usize = 3;

/// The entry as a fact that is never refused: nothing is released of a lot or promised, and no locked
/// job wants a lot.
fn fact(told: Told) -> Option<Told> {
    let plain = |label: Label| Label {
        job: label.job.filter(|job| *job != LOCKED),
        ..label
    };
    match told {
        Told::Promise(..) => None,
        Told::Move(place, kind @ ("hold" | "release"), quantity, label) => {
            let label = Label { lot: None, ..label };
            Some(Told::Move(place, kind, quantity, label))
        }
        Told::Move(place, kind, quantity, label) => {
            Some(Told::Move(place, kind, quantity, plain(label)))
        }
        Told::Transfer(place, quantity, lot) => {
            let part = MOVED;
            Some(Told::Transfer(Place { part, ..place }, quantity, lot))
        }
        Told::Count(place, counted) if place.part == MOVED => {
            Some(Told::Count(place, counted + PLENTY))
        }
        told @ (Told::Use { .. } | Told::Receive(..) | Told::Count(..)) => Some(told),
    }
}

/// One arrival: an entry, or that it is taken back.
#[derive(Clone, Copy, Debug)]
struct Arrival {
    entry: usize,
    back: bool,
}

/// Entries, some of them taken back, and two orders in which all of it arrives.
fn arrivals() -> impl Strategy<Value = (Vec<Told>, Vec<Arrival>, Vec<Arrival>)> {
    let told = told().prop_filter_map("it may be refused", fact);
    let entries = prop::collection::vec((told, prop::bool::weighted(0.2)), 1..16);
    entries.prop_flat_map(|entries| {
        let entries = without_tied_counts(entries, |(told, _)| Some(told));
        let mut arrivals = Vec::new();
        for (index, (_, taken_back)) in entries.iter().enumerate() {
            arrivals.push(Arrival {
                entry: index,
                back: false,
            });
            if *taken_back {
                arrivals.push(Arrival {
                    entry: index,
                    back: true,
                });
            }
        }
        let entries: Vec<Told> = entries.into_iter().map(|(told, _)| told).collect();
        (
            Just(entries),
            Just(arrivals.clone()),
            Just(arrivals).prop_shuffle(),
        )
    })
}

/// A shop of its own, with everything held that could be released, every lot received that could be
/// told, and plenty of what is moved.
async fn shop() -> Shop {
    let shop = Shop::open().await;
    for (index, told) in before().into_iter().enumerate() {
        let key = format!("before-{index}");
        told.tell(&shop, &key).await.expect("an entry");
    }
    shop
}

fn before() -> Vec<Told> {
    let places = (0..PARTS.len()).flat_map(|part| {
        (0..SITES.len()).map(move |site| Place {
            part,
            site,
            slot: 0,
        })
    });
    let told = places.flat_map(|place| {
        let held = Told::Move(place, "hold", HELD, Label::default());
        let received = (0..LOTS.len()).map(move |lot| {
            let quantity = if place.part == MOVED { PLENTY } else { 1 };
            Told::Receive(place, quantity, Some(lot))
        });
        std::iter::once(held).chain(received)
    });
    told.collect()
}

/// Tells everything in that order; what is taken back before it was told is taken back at once
/// when it is.
async fn tell(shop: &Shop, entries: &[Told], arrivals: &[Arrival]) {
    let mut known: Vec<Option<Uuid>> = vec![None; entries.len()];
    let mut waiting = vec![false; entries.len()];
    for Arrival { entry: index, back } in arrivals.iter().copied() {
        if !back {
            let key = format!("entry-{index}");
            let answer = entries[index].tell(shop, &key).await.expect("an entry");
            known[index] = Some(entry(&answer));
        }
        waiting[index] |= back;
        if let (Some(entry), true) = (known[index], waiting[index]) {
            let key = format!("back-{index}");
            take_back(shop, entry, &key).await.expect("a reversal");
        }
    }
}

fn expected(entries: &[Told], arrivals: &[Arrival]) -> Model {
    let mut model = Model::default();
    for told in before() {
        model.tell(told);
    }
    for told in entries {
        model.tell(told.clone());
    }
    for arrival in arrivals.iter().filter(|arrival| arrival.back) {
        model.take_back(before().len() + arrival.entry);
    }
    model
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn any_order_of_arrival_gives_the_same_levels_and_wear((entries, one, other) in arrivals()) {
        run(async {
            let model = expected(&entries, &one);
            for order in [&one, &other] {
                let shop = shop().await;
                tell(&shop, &entries, order).await;
                prop_assert_eq!(shop.levels().await, model.levels());
                prop_assert_eq!(shop.wear().await, model.wear());
            }
            Ok(())
        })?;
    }

    #[test]
    fn told_at_once_is_as_good_as_told_one_by_one((entries, one, _) in arrivals()) {
        run(async {
            let shop = shop().await;
            let open = shop.hold_writer().await;
            let mut telling = Vec::new();
            for (index, told) in entries.iter().cloned().enumerate() {
                let context = shop.context.clone();
                let tell = async move { told.tell_in(&context, &format!("entry-{index}")).await };
                telling.push(begun(tell).await);
            }
            drop(open);
            for answer in telling {
                let answer = answer.await.expect("it ended");
                prop_assert!(answer.is_ok(), "{answer:?}");
            }
            let model = expected(&entries, &[]);
            prop_assert_eq!(shop.levels().await, model.levels());
            prop_assert_eq!(shop.wear().await, model.wear());
            let told_again: Vec<Arrival> = one.into_iter().filter(|arrival| !arrival.back).collect();
            tell(&shop, &entries, &told_again).await;
            prop_assert_eq!(shop.levels().await, model.levels());
            Ok(())
        })?;
    }
}
