//! What is on hand, on hold, promised and on order, and who was promised it.

use std::collections::BTreeMap;

use super::rows::{self, Row, sum};
use super::{Model, same};
use crate::shop::{Figures, JOBS, Levels, PARTS, SITES, at};
use crate::told::{Place, Told};

/// Every part at every site.
pub(super) fn places() -> impl Iterator<Item = Place> {
    let parts = 0..PARTS.len();
    parts.flat_map(|part| {
        (0..SITES.len()).map(move |site| Place {
            part,
            site,
            slot: 0,
        })
    })
}

impl Model {
    /// The levels; those of nothing are left out.
    pub(crate) fn levels(&self) -> Levels {
        let rows = self.rows();
        let levels = places().map(|place| {
            let key = (PARTS[place.part].to_owned(), SITES[place.site].to_owned());
            (key, self.level(&rows, place))
        });
        levels
            .filter(|(_, figures)| *figures != Figures::default())
            .collect()
    }

    /// What jobs are promised: by job, part and site.
    pub(crate) fn promises(&self) -> BTreeMap<(String, String, String), i64> {
        let rows = self.rows();
        let mut promises = BTreeMap::new();
        for place in places() {
            for (job, code) in JOBS.into_iter().enumerate() {
                let quantity = rows::promised(&rows, job, place);
                if quantity != 0 {
                    let keys = [code, PARTS[place.part], SITES[place.site]];
                    let [job, part, site] = keys.map(str::to_owned);
                    promises.insert((job, part, site), quantity);
                }
            }
        }
        promises
    }

    /// What a job is promised of a part at a site.
    pub(super) fn promised(&self, job: usize, place: Place) -> i64 {
        rows::promised(&self.rows(), job, place)
    }

    /// What can be moved away or promised: not what is promised already or on hold.
    pub(super) fn movable(&self, place: Place) -> i64 {
        let level = self.level(&self.rows(), place);
        (level.on_hand - level.allocated - level.on_hold).max(0)
    }

    /// What is on hand of a part at a site.
    pub(super) fn on_hand(&self, place: Place) -> i64 {
        self.level(&self.rows(), place).on_hand
    }

    /// By how much a count differs from the book of its instant, by what is known now; and whether
    /// there is a count before it, so that the book does not begin with it.
    pub(crate) fn variance(&self, entry: usize) -> (Place, i64, bool) {
        let Told::Count(place, counted) = self.entries[entry].told else {
            panic!("entry {entry} is no count");
        };
        // The count before it, in time and then in arrival, is where its book begins.
        let counts = self.entries.iter().enumerate();
        let counts = counts.filter_map(|(number, other)| {
            let there = other.told.counts().filter(|there| same(*there, place))?;
            let Told::Count(_, counted) = other.told else {
                return None;
            };
            (!other.taken_back).then_some(((there.slot, number), counted))
        });
        let before = counts.filter(|(key, _)| *key < (place.slot, entry)).max();
        let (after, start) = before.map_or((i64::MIN, 0), |((slot, _), counted)| (slot, counted));
        let between = |row: &&Row| {
            same(row.place, place) && row.place.slot > after && row.place.slot <= place.slot
        };
        let book = start + sum(&self.rows(), between, Row::change);
        (place, counted - book, before.is_some())
    }

    fn level(&self, rows: &[Row], place: Place) -> Figures {
        let counts = self.standing().filter_map(|entry| match entry.told {
            Told::Count(there, counted) if same(there, place) => Some((there.slot, counted)),
            Told::Use { .. }
            | Told::Move(..)
            | Told::Receive(..)
            | Told::Count(..)
            | Told::Transfer(..)
            | Told::Promise(..) => None,
        });
        // Of counts at one instant the last to arrive, which is the last of equals.
        let newest = counts.max_by_key(|(slot, _)| *slot);
        let after = newest.map_or(i64::MIN, |(slot, _)| slot);
        let moved = sum(
            rows,
            |row| same(row.place, place) && row.place.slot > after,
            Row::change,
        );
        let orders = 0..self.orders.len();
        let theirs = orders.filter(|order| {
            let order = &self.orders[*order];
            (order.part, order.site) == (place.part, place.site)
        });
        Figures {
            on_hand: newest.map_or(0, |(_, counted)| counted) + moved,
            on_hold: sum(rows, |row| same(row.place, place), Row::hold),
            allocated: rows::allocated(rows, place),
            on_order: theirs.map(|order| self.to_come(order)).sum(),
            counted: newest.map(|(slot, _)| at(slot).timestamp_micros()),
        }
    }
}
