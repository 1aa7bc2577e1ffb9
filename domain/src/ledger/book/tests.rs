//! Random histories, folded entry by entry in any order of arrival, against a reference that walks
//! through the standing entries by the time they happened. Ten thousand of them.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;

use super::{Book, LotBook};
use crate::ledger::{Count, Fact, MovementKind, on_hand};

const PARTS: usize = 2;
const SITES: usize = 2;

/// A part at a site.
type Key = (usize, usize);

/// What somebody told. Its place in the history is its id.
#[derive(Clone, Debug)]
enum Told {
    /// A movement, perhaps of a lot.
    Move(MovementKind, Key, i64, Option<usize>),
    /// Pieces went to the other site.
    Transfer(Key, i64, Option<usize>),
    /// Somebody counted.
    Count(Key, i64),
    /// An earlier entry is taken back.
    TakeBack(usize),
}

/// An entry: what was told, and the slot of time in which it happened.
#[derive(Clone, Debug)]
struct Entry {
    id: usize,
    slot: i64,
    told: Told,
}

fn at(slot: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::minutes(slot)
}

/// The rows of an entry: where it moves what, by which kind.
fn rows(told: &Told) -> Vec<(MovementKind, Key, i64, Option<usize>)> {
    match *told {
        Told::Move(kind, key, quantity, lot) => vec![(kind, key, quantity, lot)],
        Told::Transfer((part, from), quantity, lot) => vec![
            (MovementKind::Transfer, (part, from), -quantity, lot),
            (MovementKind::Transfer, (part, 1 - from), quantity, lot),
        ],
        Told::Count(..) | Told::TakeBack(_) => Vec::new(),
    }
}

/// The fold under test: everything that arrived, and the books that follow from it.
#[derive(Default)]
struct Fold {
    books: BTreeMap<Key, Book>,
    lots: BTreeMap<(Key, usize), LotBook>,
    seen: BTreeMap<usize, Entry>,
    taken_back: BTreeSet<usize>,
    /// Take-backs that arrived before what they take back.
    early: BTreeSet<usize>,
    moved: Vec<(Key, DateTime<Utc>, i64)>,
}

impl Fold {
    fn arrive(&mut self, entry: &Entry) {
        if self.seen.contains_key(&entry.id) {
            return;
        }
        self.seen.insert(entry.id, entry.clone());
        match &entry.told {
            Told::TakeBack(of) => self.take_back(*of),
            Told::Count(key, counted) => self.count(entry, *key, *counted),
            Told::Move(..) | Told::Transfer(..) => self.enter(entry, 1),
        }
        if self.early.remove(&entry.id) {
            self.take_back(entry.id);
        }
    }

    fn enter(&mut self, entry: &Entry, sign: i64) {
        for (kind, key, quantity, lot) in rows(&entry.told) {
            let (at, quantity) = (at(entry.slot), sign * quantity);
            let book = self.books.entry(key).or_default();
            book.enter(kind, at, quantity).expect("small numbers");
            self.moved.push((key, at, kind.on_hand_sign() * quantity));
            if let Some(lot) = lot {
                let lot = self.lots.entry((key, lot)).or_default();
                let freed = lot.enter(kind, quantity).expect("small numbers");
                let release = MovementKind::Release;
                book.enter(release, at, freed).expect("small numbers");
            }
        }
    }

    fn count(&mut self, entry: &Entry, key: Key, counted: i64) {
        let at = at(entry.slot);
        let later = self
            .moved
            .iter()
            .filter(|(of, when, _)| *of == key && *when > at);
        let later = later.map(|(_, _, change)| change).sum();
        let count = Count {
            at,
            counted,
            id: entry.id as u128,
        };
        let book = self.books.entry(key).or_default();
        book.count(&count, later).expect("not below nothing");
    }

    fn take_back(&mut self, of: usize) {
        let Some(entry) = self.seen.get(&of).cloned() else {
            self.early.insert(of);
            return;
        };
        if !self.taken_back.insert(of) {
            return;
        }
        match &entry.told {
            Told::Move(..) | Told::Transfer(..) => self.enter(&entry, -1),
            Told::Count(key, _) => self.refold(*key),
            Told::TakeBack(_) => {}
        }
    }

    /// A count was taken back: the level is folded anew from the facts.
    fn refold(&mut self, key: Key) {
        let counts = self.seen.values().filter_map(|entry| match entry.told {
            Told::Count(of, counted) if of == key && !self.taken_back.contains(&entry.id) => {
                Some(Fact::Count(Count {
                    at: at(entry.slot),
                    counted,
                    id: entry.id as u128,
                }))
            }
            Told::Count(..) | Told::Move(..) | Told::Transfer(..) | Told::TakeBack(_) => None,
        });
        let moved = self.moved.iter().filter(|(of, ..)| *of == key);
        let moved = moved.map(|(_, at, quantity)| Fact::Movement {
            at: *at,
            quantity: *quantity,
        });
        let facts: Vec<Fact> = counts.chain(moved).collect();
        self.books.entry(key).or_default().on_hand = on_hand(facts).expect("small numbers");
    }
}

/// The reference: on hand by walking through time, and plain sums for the rest.
fn reference(history: &[Entry]) -> BTreeMap<Key, (i64, i64)> {
    let mut gone = BTreeSet::new();
    for entry in history {
        if let Told::TakeBack(of) = entry.told {
            gone.insert(of);
        }
    }
    let mut standing: Vec<&Entry> = history
        .iter()
        .filter(|entry| !gone.contains(&entry.id))
        .collect();
    // A count stands for what happened up to its instant, so at one instant it comes last.
    standing.sort_by_key(|entry| {
        let is_count = matches!(entry.told, Told::Count(..));
        (entry.slot, is_count, entry.id)
    });
    let mut levels: BTreeMap<Key, (i64, i64)> = BTreeMap::new();
    for entry in standing {
        if let Told::Count(key, counted) = entry.told {
            levels.entry(key).or_default().0 = counted;
        }
        for (kind, key, quantity, _) in rows(&entry.told) {
            let level = levels.entry(key).or_default();
            match kind {
                MovementKind::Receipt
                | MovementKind::Return
                | MovementKind::Adjustment
                | MovementKind::Transfer => level.0 += quantity,
                MovementKind::Issue
                | MovementKind::Scrap
                | MovementKind::SupplierReturn
                | MovementKind::UnloggedUse => level.0 -= quantity,
                MovementKind::Allocation => level.1 += quantity,
                MovementKind::Hold | MovementKind::Release => {}
            }
        }
    }
    levels
}

fn key() -> impl Strategy<Value = Key> {
    (0..PARTS, 0..SITES)
}

fn told(size: usize) -> impl Strategy<Value = Told> {
    let kinds = MovementKind::ALL
        .iter()
        .copied()
        .filter(|kind| *kind != MovementKind::Transfer);
    let kinds: Vec<MovementKind> = kinds.collect();
    let lot = prop::option::weighted(0.4, 0_usize..2);
    prop_oneof![
        8 => (prop::sample::select(kinds), key(), 1_i64..9, lot.clone())
            .prop_map(|(kind, key, quantity, lot)| Told::Move(kind, key, quantity, lot)),
        2 => (key(), 1_i64..9, lot).prop_map(|(key, quantity, lot)| Told::Transfer(key, quantity, lot)),
        3 => (key(), 0_i64..20).prop_map(|(key, counted)| Told::Count(key, counted)),
        2 => (0..size).prop_map(Told::TakeBack),
    ]
}

/// A history of up to 24 entries in the order in which they are told, each with the slot in which it
/// happened: late and early ones are the rule.
fn history() -> impl Strategy<Value = Vec<Entry>> {
    (1_usize..24).prop_flat_map(|size| {
        let one = (0_i64..12, told(size));
        prop::collection::vec(one, size).prop_map(|told| {
            let entries = told.into_iter().enumerate();
            entries
                .map(|(id, (slot, told))| Entry { id, slot, told })
                // A reversal is not taken back, and nothing takes itself back.
                .filter(|entry| !matches!(entry.told, Told::TakeBack(of) if of == entry.id))
                .collect()
        })
    })
}

/// The same without taking back what is itself a taking back.
fn sound(history: &[Entry]) -> Vec<Entry> {
    let backs: BTreeSet<usize> = history
        .iter()
        .filter(|entry| matches!(entry.told, Told::TakeBack(_)))
        .map(|entry| entry.id)
        .collect();
    let there: BTreeSet<usize> = history.iter().map(|entry| entry.id).collect();
    let fine = |entry: &&Entry| match entry.told {
        Told::TakeBack(of) => there.contains(&of) && !backs.contains(&of),
        Told::Move(..) | Told::Transfer(..) | Told::Count(..) => true,
    };
    history.iter().filter(fine).cloned().collect()
}

fn fold<'e>(arrivals: impl IntoIterator<Item = &'e Entry>) -> Fold {
    let mut fold = Fold::default();
    for entry in arrivals {
        fold.arrive(entry);
    }
    fold
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 10_000, ..ProptestConfig::default() })]

    #[test]
    fn every_history_gives_the_levels_of_the_reference_in_any_order_of_arrival(
        history in history(),
        shuffle in any::<u64>(),
        again in prop::collection::vec(0_usize..24, 0..6),
    ) {
        let history = sound(&history);
        let told = fold(&history);
        let expected = reference(&history);
        for (key, book) in &told.books {
            let (on_hand, allocated) = expected.get(key).copied().unwrap_or_default();
            prop_assert_eq!(book.on_hand.on_hand, on_hand, "{:?}", key);
            prop_assert_eq!(book.allocated, allocated, "{:?}", key);
        }
        // In another order, and some of it more than once.
        let mut arrivals: Vec<&Entry> = history.iter().collect();
        arrivals.extend(again.iter().filter_map(|index| history.get(*index)));
        let mut seed = shuffle;
        for index in (1..arrivals.len()).rev() {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let other = usize::try_from(seed >> 33).expect("31 bits") % (index + 1);
            arrivals.swap(index, other);
        }
        let shuffled = fold(arrivals);
        for (key, book) in &told.books {
            let other = shuffled.books.get(key).copied().unwrap_or_default();
            prop_assert_eq!(book.on_hand, other.on_hand, "{:?}", key);
            prop_assert_eq!(book.allocated, other.allocated, "{:?}", key);
        }
    }

    /// Nothing comes from nowhere: what is left of a lot at all sites is what came in less what went
    /// out, and what moves between sites changes no sum.
    #[test]
    fn a_lot_is_conserved_over_its_sites(history in history()) {
        let history = sound(&history);
        let told = fold(&history);
        let taken_back: BTreeSet<usize> = history.iter().filter_map(|entry| match entry.told {
            Told::TakeBack(of) => Some(of),
            Told::Move(..) | Told::Transfer(..) | Told::Count(..) => None,
        }).collect();
        for part in 0..PARTS {
            for lot in 0..2 {
                let mut expected = 0;
                for entry in history.iter().filter(|entry| !taken_back.contains(&entry.id)) {
                    if let Told::Move(kind, (of, _), quantity, Some(its)) = entry.told
                        && (of, its) == (part, lot)
                    {
                        expected += kind.on_hand_sign() * quantity;
                    }
                }
                let left: i64 = (0..SITES)
                    .filter_map(|site| told.lots.get(&((part, site), lot)))
                    .map(|book| book.left)
                    .sum();
                prop_assert_eq!(left, expected, "part {}, lot {}", part, lot);
            }
        }
    }

    /// As long as holds and releases are for pieces that are there, no more is ever held than is left.
    #[test]
    fn no_more_of_a_lot_is_held_than_is_left(
        steps in prop::collection::vec((prop::sample::select(MovementKind::ALL.to_vec()), 1_i64..9), 1..40),
    ) {
        let mut lot = LotBook::default();
        let mut book = Book::default();
        for (kind, told) in steps {
            let quantity = match kind {
                MovementKind::Hold => told.min(lot.free()),
                MovementKind::Release => told.min(lot.on_hold),
                MovementKind::Issue | MovementKind::Scrap | MovementKind::SupplierReturn
                | MovementKind::UnloggedUse => told.min(lot.left),
                MovementKind::Receipt | MovementKind::Return | MovementKind::Adjustment
                | MovementKind::Transfer | MovementKind::Allocation => told,
            };
            if quantity <= 0 {
                continue;
            }
            let freed = lot.enter(kind, quantity).expect("small numbers");
            book.enter(kind, at(0), quantity).expect("small numbers");
            book.enter(MovementKind::Release, at(0), freed).expect("small numbers");
            prop_assert!(lot.on_hold <= lot.left, "{:?} after {:?}", lot, kind);
            prop_assert_eq!(book.on_hold, lot.on_hold);
        }
    }
}

#[test]
fn what_would_overflow_changes_nothing() {
    let mut book = Book::default();
    book.enter(MovementKind::Receipt, at(0), i64::MAX)
        .expect("it fits");
    let before = book;
    assert!(book.enter(MovementKind::Receipt, at(1), 1).is_err());
    assert!(book.enter(MovementKind::Issue, at(1), i64::MIN).is_err());
    assert_eq!(book, before);
    let mut lot = LotBook {
        left: i64::MAX,
        on_hold: 0,
    };
    assert!(lot.enter(MovementKind::Return, 1).is_err());
    assert_eq!(
        lot,
        LotBook {
            left: i64::MAX,
            on_hold: 0
        }
    );
}

#[test]
fn what_is_taken_of_a_held_lot_is_not_held_any_more() {
    let mut lot = LotBook {
        left: 4,
        on_hold: 4,
    };
    assert_eq!(lot.enter(MovementKind::Issue, 1), Ok(1));
    assert_eq!((lot.left, lot.on_hold, lot.free()), (3, 3, 0));
    let mut lot = LotBook {
        left: 4,
        on_hold: 1,
    };
    assert_eq!(lot.enter(MovementKind::Scrap, 2), Ok(0));
    assert_eq!((lot.left, lot.on_hold), (2, 1));
}
