//! The reference: what levels and wear must be, by the plainest reading of the rules, computed each
//! time from all that was told. An entry that was taken back never was; a count stands for all up to
//! its instant; an order is waited for until it came or was cancelled.

use crate::shop::{Levels, PARTS, SITES, Wear, at, fitted};
use crate::told::{GROUPS, Place, Told};

/// What was told and accepted.
#[derive(Clone, Debug, Default)]
pub(crate) struct Model {
    entries: Vec<Entry>,
    orders: Vec<Order>,
}

#[derive(Clone, Debug)]
struct Entry {
    told: Told,
    order: Option<usize>,
    taken_back: bool,
}

#[derive(Clone, Debug)]
struct Order {
    part: usize,
    site: usize,
    pieces: i64,
    placed: bool,
    cancelled: bool,
}

impl Model {
    /// Whether an entry would be accepted: more than is on hold cannot be released.
    pub(crate) fn accepts(&self, told: &Told) -> bool {
        match told {
            Told::Move(place, "release", quantity, _) => *quantity <= self.on_hold(*place),
            Told::Use { .. } | Told::Move(..) | Told::Receive(..) | Told::Count(..) => true,
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
        self.entries.len() - 1
    }

    /// Whether an entry could be taken back: once, and a hold only while its pieces are held.
    pub(crate) fn accepts_back(&self, entry: usize) -> bool {
        let entry = &self.entries[entry];
        let held = match &entry.told {
            Told::Move(place, "hold", quantity, _) => *quantity <= self.on_hold(*place),
            Told::Use { .. } | Told::Move(..) | Told::Receive(..) | Told::Count(..) => true,
        };
        held && !entry.taken_back
    }

    /// An entry was taken back.
    pub(crate) fn take_back(&mut self, entry: usize) {
        self.entries[entry].taken_back = true;
    }

    /// What is known now of the time up to a slot: what happened by then, and no orders, which are
    /// all of a later time.
    pub(crate) fn up_to(&self, slot: i64) -> Self {
        let entries = self.entries.iter();
        Self {
            entries: entries
                .filter(|entry| slot_of(&entry.told) <= slot)
                .cloned()
                .collect(),
            orders: Vec::new(),
        }
    }

    /// An order was drafted.
    pub(crate) fn draft(&mut self, part: usize, site: usize, pieces: i64) {
        self.orders.push(Order {
            part,
            site,
            pieces,
            placed: false,
            cancelled: false,
        });
    }

    /// The state of an order, in the words of the contract.
    pub(crate) fn state(&self, order: usize) -> &'static str {
        let (came, told) = (self.came(order), &self.orders[order]);
        match (told.cancelled, told.placed) {
            (true, _) => "cancelled",
            (false, false) => "draft",
            (false, true) if came >= told.pieces => "arrived",
            (false, true) if came > 0 => "part arrived",
            (false, true) => "placed",
        }
    }

    /// Whether an order can be placed, and then is. Placing it again is harmless.
    pub(crate) fn place(&mut self, order: usize) -> bool {
        let good = ["draft", "placed"].contains(&self.state(order));
        self.orders[order].placed |= good;
        good
    }

    /// Whether an order can be cancelled, and then is.
    pub(crate) fn cancel(&mut self, order: usize) -> bool {
        let good = self.state(order) != "arrived";
        self.orders[order].cancelled |= good;
        good
    }

    /// Receives so many pieces of an order, or all that are to come; the number of the entry if it
    /// was under way.
    pub(crate) fn arrive(&mut self, order: usize, pieces: Option<i64>, slot: i64) -> Option<usize> {
        if !["placed", "part arrived"].contains(&self.state(order)) {
            return None;
        }
        let pieces = pieces.unwrap_or_else(|| self.to_come(order));
        let place = Place {
            part: self.orders[order].part,
            site: self.orders[order].site,
            slot,
        };
        Some(self.enter(Told::Receive(place, pieces), Some(order)))
    }

    /// The part of an order.
    pub(crate) fn part_of(&self, order: usize) -> usize {
        self.orders[order].part
    }

    fn standing(&self) -> impl Iterator<Item = &Entry> {
        self.entries.iter().filter(|entry| !entry.taken_back)
    }

    /// How many pieces came of an order.
    pub(crate) fn came(&self, order: usize) -> i64 {
        let receipts = self.standing().filter(|entry| entry.order == Some(order));
        receipts
            .map(|entry| match entry.told {
                Told::Receive(_, pieces) => pieces,
                Told::Use { .. } | Told::Move(..) | Told::Count(..) => 0,
            })
            .sum()
    }

    fn to_come(&self, order: usize) -> i64 {
        match self.state(order) {
            "placed" | "part arrived" => (self.orders[order].pieces - self.came(order)).max(0),
            _ => 0,
        }
    }

    fn on_hold(&self, place: Place) -> i64 {
        let moved = self.standing().filter_map(|entry| match entry.told {
            Told::Move(there, kind, quantity, _) if same(there, place) => Some((kind, quantity)),
            Told::Use { .. } | Told::Move(..) | Told::Receive(..) | Told::Count(..) => None,
        });
        moved
            .map(|(kind, quantity)| match kind {
                "hold" => quantity,
                "release" => -quantity,
                _ => 0,
            })
            .sum()
    }

    /// The levels.
    pub(crate) fn levels(&self) -> Levels {
        let mut levels = Levels::new();
        for (part, part_code) in PARTS.into_iter().enumerate() {
            for (site, site_code) in SITES.into_iter().enumerate() {
                let place = Place {
                    part,
                    site,
                    slot: 0,
                };
                let figures = self.level(place);
                if figures != (0, 0, 0, None) {
                    levels.insert((part_code.to_owned(), site_code.to_owned()), figures);
                }
            }
        }
        levels
    }

    fn level(&self, place: Place) -> (i64, i64, i64, Option<i64>) {
        let counts = self.standing().filter_map(|entry| match entry.told {
            Told::Count(there, counted) if same(there, place) => Some((there.slot, counted)),
            Told::Use { .. } | Told::Move(..) | Told::Receive(..) | Told::Count(..) => None,
        });
        // Of counts at one instant the last to arrive, which is the last of equals.
        let newest = counts.max_by_key(|(slot, _)| *slot);
        let mut on_hand = newest.map_or(0, |(_, counted)| counted);
        for entry in self.standing() {
            let Some((there, change)) = change(&entry.told) else {
                continue;
            };
            if same(there, place) && newest.is_none_or(|(slot, _)| there.slot > slot) {
                on_hand += change;
            }
        }
        let orders = 0..self.orders.len();
        let theirs = orders.filter(|order| {
            let order = &self.orders[*order];
            (order.part, order.site) == (place.part, place.site)
        });
        let on_order = theirs.map(|order| self.to_come(order)).sum();
        let counted = newest.map(|(slot, _)| at(slot).timestamp_micros());
        (on_hand, self.on_hold(place), on_order, counted)
    }

    /// The sums of wear. Since when there is any is the earliest that was ever told, even if it was
    /// taken back.
    pub(crate) fn wear(&self) -> Wear {
        let mut wear = Wear::new();
        for entry in &self.entries {
            let sign = i64::from(!entry.taken_back);
            for (place, group, sums) in worn(&entry.told) {
                let key = (
                    PARTS[place.part].to_owned(),
                    SITES[place.site].to_owned(),
                    GROUPS[group].to_owned(),
                );
                let (kept, since) = wear.entry(key).or_insert(([0; 5], None));
                for (kept, more) in kept.iter_mut().zip(sums) {
                    *kept += sign * more;
                }
                let at = at(place.slot).timestamp_micros();
                *since = Some(since.map_or(at, |since| since.min(at)));
            }
        }
        wear
    }
}

fn slot_of(told: &Told) -> i64 {
    match told {
        Told::Use { slot, .. } => *slot,
        Told::Move(place, ..) | Told::Receive(place, _) | Told::Count(place, _) => place.slot,
    }
}

fn same(there: Place, here: Place) -> bool {
    (there.part, there.site) == (here.part, here.site)
}

/// The site of a torch, as an index: T2 stands in the yard.
fn site_of(torch: usize) -> usize {
    usize::from(torch == 1)
}

/// By how much an entry changes what is on hand, and where.
fn change(told: &Told) -> Option<(Place, i64)> {
    match *told {
        Told::Use {
            torch,
            slot,
            done: Some((what, part, quantity)),
            ..
        } => {
            let site = site_of(torch);
            let change = if what == "put-back" {
                quantity
            } else {
                -quantity
            };
            Some((Place { part, site, slot }, change))
        }
        Told::Receive(place, quantity)
        | Told::Move(place, "return" | "adjustment", quantity, _) => Some((place, quantity)),
        Told::Move(place, "issue" | "scrap", quantity, _) => Some((place, -quantity)),
        Told::Use { .. } | Told::Move(..) | Told::Count(..) => None,
    }
}

/// What an entry adds to the wear of which parts: pieces used up, arc seconds, grinds, cut-backs and
/// starts.
fn worn(told: &Told) -> Vec<(Place, usize, [i64; 5])> {
    match *told {
        Told::Use {
            torch,
            slot,
            group,
            worn: [minutes, grinds, cut_backs, starts],
            done,
        } => {
            let site = site_of(torch);
            let exposed = fitted(torch, slot).iter().map(|part| {
                let sums = [0, minutes * 60, grinds, cut_backs, starts];
                (
                    Place {
                        part: *part,
                        site,
                        slot,
                    },
                    group,
                    sums,
                )
            });
            let used = done.map(|(what, part, quantity)| {
                let used = if what == "put-back" {
                    -quantity
                } else {
                    quantity
                };
                (Place { part, site, slot }, group, [used, 0, 0, 0, 0])
            });
            exposed.chain(used).collect()
        }
        Told::Move(place, "issue", quantity, group) => vec![(place, group, [quantity, 0, 0, 0, 0])],
        Told::Move(place, "return", quantity, group) => {
            vec![(place, group, [-quantity, 0, 0, 0, 0])]
        }
        Told::Move(..) | Told::Receive(..) | Told::Count(..) => Vec::new(),
    }
}
