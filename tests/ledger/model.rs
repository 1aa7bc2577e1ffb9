//! The reference: what levels, wear, lots and promises must be, by the plainest reading of the rules,
//! computed each time from all that was told. An entry that was taken back never was; a count stands
//! for all up to its instant; an order is waited for until it came or was cancelled.

use crate::shop::{LOCKED, electrode};
use crate::told::{Label, Place, Told};

mod levels;
mod lots;
mod orders;
mod rows;
mod wear;

pub(crate) use lots::Traced;
use orders::Order;

/// What was told and accepted.
#[derive(Clone, Debug, Default)]
pub(crate) struct Model {
    entries: Vec<Entry>,
    events: Vec<Event>,
    orders: Vec<Order>,
    /// Only what happened by this slot is of account.
    until: Option<i64>,
}

#[derive(Clone, Debug)]
struct Entry {
    told: Told,
    order: Option<usize>,
    taken_back: bool,
}

/// What came in, in the order in which it came.
#[derive(Clone, Copy, Debug)]
enum Event {
    Tell(usize),
    TakeBack(usize),
}

impl Model {
    /// Whether an entry would be accepted. What somebody did is a fact; what is planned must be
    /// possible, and a lot must have come in.
    pub(crate) fn accepts(&self, told: &Told) -> bool {
        match *told {
            Told::Use { done, label, .. } => {
                done.is_none_or(|(_, part, _)| self.knows(part, label.lot))
            }
            // More than is on hold, of the lot or outside of lots, cannot be released.
            Told::Move(place, "release", quantity, label) => {
                quantity <= self.held(place, label.lot)
            }
            Told::Move(place, kind, quantity, label) => {
                let issued = kind != "issue"
                    || (self.free(place, label.lot, quantity) && !wants_lot(place, label));
                self.knows(place.part, label.lot) && issued
            }
            Told::Transfer(place, quantity, lot) => {
                quantity <= self.movable(place)
                    && self.knows(place.part, lot)
                    && self.free(place, lot, quantity)
            }
            Told::Promise(place, job, quantity) => {
                quantity - self.promised(job, place) <= self.movable(place)
            }
            Told::Receive(..) | Told::Count(..) => true,
        }
    }

    /// An entry was accepted; gives its number.
    pub(crate) fn tell(&mut self, told: Told) -> usize {
        self.enter(told, None)
    }

    fn enter(&mut self, told: Told, order: Option<usize>) -> usize {
        self.entries.push(Entry {
            told,
            order,
            taken_back: false,
        });
        let number = self.entries.len() - 1;
        self.events.push(Event::Tell(number));
        number
    }

    /// Whether an entry could be taken back: once; a hold only while its pieces are held, a transfer
    /// only while they are not; and a promise never, since it can be set anew.
    pub(crate) fn accepts_back(&self, entry: usize) -> bool {
        let entry = &self.entries[entry];
        let possible = match entry.told {
            Told::Move(place, "hold", quantity, label) => quantity <= self.held(place, label.lot),
            Told::Transfer(place, quantity, lot) => {
                let site = 1 - place.site;
                self.free(Place { site, ..place }, lot, quantity)
            }
            Told::Promise(..) => false,
            Told::Use { .. } | Told::Move(..) | Told::Receive(..) | Told::Count(..) => true,
        };
        possible && !entry.taken_back
    }

    /// An entry was taken back.
    pub(crate) fn take_back(&mut self, entry: usize) {
        self.entries[entry].taken_back = true;
        self.events.push(Event::TakeBack(entry));
    }

    /// What is known now of the time up to a slot: what happened by then, and no orders, which are
    /// all of a later time.
    pub(crate) fn up_to(&self, slot: i64) -> Self {
        Self {
            orders: Vec::new(),
            until: Some(slot),
            ..self.clone()
        }
    }

    /// The entries of which a locked procedure wants to know the lot, by number.
    pub(crate) fn lots_missing(&self) -> Vec<usize> {
        let wanting = |entry: &Entry| match entry.told {
            Told::Use {
                done: Some((what, part, _)),
                slot,
                label,
                ..
            } => {
                let place = Place {
                    part,
                    site: 0,
                    slot,
                };
                what != "put-back" && wants_lot(place, label) && !entry.taken_back
            }
            Told::Use { .. }
            | Told::Move(..)
            | Told::Receive(..)
            | Told::Count(..)
            | Told::Transfer(..)
            | Told::Promise(..) => false,
        };
        let entries = self.entries.iter().enumerate();
        entries
            .filter(|(_, entry)| wanting(entry))
            .map(|(number, _)| number)
            .collect()
    }

    /// Whether an entry was not taken back.
    pub(crate) fn stands(&self, entry: usize) -> bool {
        !self.entries[entry].taken_back
    }

    fn standing(&self) -> impl Iterator<Item = &Entry> {
        let until = self.until.unwrap_or(i64::MAX);
        let standing = self.entries.iter().filter(|entry| !entry.taken_back);
        standing.filter(move |entry| slot_of(&entry.told) <= until)
    }
}

/// Whether something is used for the locked job, and its lot is not told.
fn wants_lot(place: Place, label: Label) -> bool {
    label.job == Some(LOCKED) && label.lot.is_none() && electrode(place.part)
}

fn slot_of(told: &Told) -> i64 {
    match told {
        Told::Use { slot, .. } => *slot,
        Told::Move(place, ..)
        | Told::Receive(place, ..)
        | Told::Count(place, _)
        | Told::Transfer(place, ..)
        | Told::Promise(place, ..) => place.slot,
    }
}

fn same(there: Place, here: Place) -> bool {
    (there.part, there.site) == (here.part, here.site)
}

/// The site of a torch, as an index: T2 stands in the yard.
fn site_of(torch: usize) -> usize {
    usize::from(torch == 1)
}
