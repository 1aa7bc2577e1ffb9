//! The levels and sums that a set of entries touches: read once, kept up to date in memory by the
//! rules of the domain, written back once.

use std::collections::{BTreeSet, HashMap, HashSet};

use domain::ledger::{Book, Count, LotBook, MovementKind, OnHand};
use sea_orm::ConnectionTrait;
use types::StockAfter;

use super::Request;
use super::book;
use super::lot::{self, LotKey};
use super::names::Names;
use crate::service::known::CurrentKey;
use crate::service::{Error, instant, known};
use crate::store;
use crate::store::entity::{entries, levels, parts, sites, wear, wear_currents, wear_days};

/// A part at a site.
pub type Key = (i64, i64);

/// What one entry adds to the exposure of a part.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Worn {
    /// Seconds of arc time.
    pub arc_seconds: i64,
    /// Of those, what an arc timer told.
    pub arc_counter_seconds: i64,
    /// Of those, what cylinder swaps told.
    pub arc_cylinder_seconds: i64,
    /// Grinds.
    pub grinds: i64,
    /// Cut-backs.
    pub cut_backs: i64,
    /// Starts.
    pub starts: i64,
    /// Student-days.
    pub student_days: i64,
}

/// When something happened, on which day of the shop, and at what current.
#[derive(Clone, Copy, Debug)]
pub struct Occasion<'a> {
    /// The instant.
    pub at: i64,
    /// The number of the day.
    pub day: i64,
    /// The polarity, if it was told.
    pub polarity: Option<&'a str>,
    /// The current in amperes, if it was told.
    pub amps: Option<i64>,
}

impl<'a> Occasion<'a> {
    /// That of an entry.
    pub fn of(entry: &'a entries::Model) -> Self {
        Self {
            at: entry.happened_at,
            day: entry.day,
            polarity: entry.polarity.as_deref(),
            amps: entry.amps,
        }
    }
}

/// One movement, as the books see it.
#[derive(Clone, Copy, Debug)]
pub struct Moved<'a> {
    /// Its kind.
    pub kind: MovementKind,
    /// The quantity as told.
    pub quantity: i64,
    /// When it happened.
    pub when: Occasion<'a>,
    /// Operator group.
    pub group: &'a str,
}

/// Adds an exposure to sums of it, of a day or in all.
macro_rules! expose {
    ($sums:expr, $worn:expr) => {
        for (sum, more) in [
            (&mut $sums.arc_seconds, $worn.arc_seconds),
            (&mut $sums.arc_counter_seconds, $worn.arc_counter_seconds),
            (&mut $sums.arc_cylinder_seconds, $worn.arc_cylinder_seconds),
            (&mut $sums.grinds, $worn.grinds),
            (&mut $sums.cut_backs, $worn.cut_backs),
            (&mut $sums.starts, $worn.starts),
            (&mut $sums.student_days, $worn.student_days),
        ] {
            *sum = add(*sum, more)?;
        }
    };
}

/// The levels and sums that a set touches.
#[derive(Debug, Default)]
pub struct Books {
    levels: HashMap<Key, Book>,
    wear: HashMap<Key, HashMap<String, wear::Model>>,
    touched_levels: HashSet<Key>,
    touched_wear: HashSet<(Key, String)>,
    /// What the set adds to the days, which are not read.
    days: HashMap<(Key, String, i64), wear_days::Model>,
    /// What it adds by current, where one is told; not read either.
    currents: HashMap<CurrentKey, wear_currents::Model>,
    /// What jobs are promised: by job, part and site.
    promises: HashMap<(i64, i64, i64), i64>,
    lots: HashMap<LotKey, LotBook>,
    /// How many came in of a lot of a part, at all sites.
    received: HashMap<(i64, String), i64>,
    /// What is on hold as lots.
    held_as_lots: HashMap<Key, i64>,
    /// What was on hand when a level was read.
    before: HashMap<Key, i64>,
    /// Where something moved that a count had already stood for, or a count came or went before
    /// another.
    explained: BTreeSet<Key>,
}

/// Where a set of entries changed more than figures.
#[derive(Debug, Default)]
pub(super) struct Turned {
    /// Where the book went below zero.
    pub(super) below: Vec<Key>,
    /// Where it came back.
    pub(super) back: Vec<Key>,
    /// Where something moved that explains a count.
    pub(super) explained: BTreeSet<Key>,
}

impl Books {
    /// Reads what the set may touch.
    pub(super) async fn load(db: &impl ConnectionTrait, names: &Names) -> Result<Self, Error> {
        let mut books = Self::default();
        books.add(db, names.keys()).await?;
        Ok(books)
    }

    /// Reads more; what was read before keeps its changes.
    pub async fn add(
        &mut self,
        db: &impl ConnectionTrait,
        keys: impl Iterator<Item = Key>,
    ) -> Result<(), Error> {
        let keys: HashSet<Key> = keys.collect();
        for row in store::levels::find_many(db, keys.iter().copied()).await? {
            let key = (row.part_id, row.site_id);
            self.before.entry(key).or_insert(row.on_hand);
            self.levels.entry(key).or_insert_with(|| book::read(&row));
        }
        for row in store::wear::find_many(db, keys.iter().copied()).await? {
            let groups = self.wear.entry((row.part_id, row.site_id)).or_default();
            groups.entry(row.operator_group.clone()).or_insert(row);
        }
        Ok(())
    }

    /// Reads what those jobs are promised.
    pub(super) async fn load_promises(
        &mut self,
        db: &impl ConnectionTrait,
        jobs: impl Iterator<Item = i64>,
    ) -> Result<(), Error> {
        for promise in store::movements::promises(db, jobs).await? {
            let key = (promise.job_id, promise.part_id, promise.site_id);
            self.promises.insert(key, promise.quantity);
        }
        Ok(())
    }

    /// What a job is promised of a part at a site.
    pub(super) fn promised(&self, key: (i64, i64, i64)) -> i64 {
        self.promises.get(&key).copied().unwrap_or(0)
    }

    /// A promise was changed.
    pub(super) fn promise(&mut self, key: (i64, i64, i64), change: i64) {
        *self.promises.entry(key).or_default() += change;
    }

    /// Reads what the set needs to know of lots: those that it names, and what is on hold as lots
    /// where something is released.
    pub(super) async fn load_lots(
        &mut self,
        db: &impl ConnectionTrait,
        set: &[Request],
        names: &Names,
    ) -> Result<(), Error> {
        let named = set
            .iter()
            .filter_map(|request| request.circumstances()?.lot);
        self.add_lots(db, named).await?;
        if set.iter().any(lot::releases) {
            self.add_held(db, names.keys().map(|(part, _)| part))
                .await?;
        }
        Ok(())
    }

    /// Reads lots; each only once.
    pub(super) async fn add_lots(
        &mut self,
        db: &impl ConnectionTrait,
        lots: impl Iterator<Item = &str>,
    ) -> Result<(), Error> {
        let lots: BTreeSet<String> = lots.map(crate::service::codes::key).collect();
        for sum in store::movements::lot_sums(db, lots).await? {
            let Ok(kind) = MovementKind::parse(&sum.kind) else {
                continue;
            };
            if kind == MovementKind::Receipt {
                let received = (sum.part_id, sum.lot_key.clone());
                *self.received.entry(received).or_default() += sum.quantity;
            }
            let key = (sum.part_id, sum.site_id, sum.lot_key);
            let book = self.lots.entry(key).or_default();
            book.left += kind.on_hand_sign() * sum.quantity;
            book.on_hold += kind.on_hold_sign() * sum.quantity;
        }
        Ok(())
    }

    /// Reads what is on hold as lots of those parts; once.
    pub(super) async fn add_held(
        &mut self,
        db: &impl ConnectionTrait,
        parts: impl Iterator<Item = i64>,
    ) -> Result<(), Error> {
        for sum in store::movements::held_as_lots(db, parts).await? {
            let sign = MovementKind::parse(&sum.kind).map_or(0, MovementKind::on_hold_sign);
            let held = self
                .held_as_lots
                .entry((sum.part_id, sum.site_id))
                .or_default();
            *held += sign * sum.quantity;
        }
        Ok(())
    }

    /// Whether anything of a lot of a part came in, anywhere. What was taken back never did.
    pub(super) fn has_lot(&self, part: i64, lot: &str) -> bool {
        let key = (part, crate::service::codes::key(lot));
        self.received
            .get(&key)
            .is_some_and(|received| *received > 0)
    }

    /// What is on hold of a lot, or, without one, outside of all lots.
    pub(super) fn held(&self, key: Key, lot: Option<&str>) -> i64 {
        if let Some(lot) = lot {
            return self.lot(&lot::key(key.0, key.1, lot)).on_hold;
        }
        let as_lots = self.held_as_lots.get(&key).copied().unwrap_or(0);
        self.book(key).on_hold - as_lots
    }

    /// What is left of a lot at a site.
    pub(super) fn lot(&self, key: &LotKey) -> LotBook {
        self.lots.get(key).copied().unwrap_or_default()
    }

    /// A movement of a lot; how many of its pieces on hold it frees.
    pub(super) fn move_lot(
        &mut self,
        key: LotKey,
        kind: MovementKind,
        quantity: i64,
    ) -> Result<i64, Error> {
        if kind == MovementKind::Receipt {
            let received = (key.0, key.2.clone());
            *self.received.entry(received).or_default() += quantity;
        }
        let held = self.held_as_lots.entry((key.0, key.1)).or_default();
        let book = self.lots.entry(key).or_default();
        *held -= book.on_hold;
        let freed = book.enter(kind, quantity).map_err(|_| Error::Overflow)?;
        *held += book.on_hold;
        Ok(freed)
    }

    /// The level of a part at a site.
    pub(super) fn book(&self, key: Key) -> Book {
        self.levels.get(&key).copied().unwrap_or_default()
    }

    /// What is left of a part.
    pub(super) fn after(&self, part: &parts::Model, site: &sites::Model) -> StockAfter {
        book::after(&self.book((part.id, site.id)), part, site)
    }

    /// A movement: stock and, for use, wear.
    pub fn move_part(&mut self, key: Key, moved: Moved<'_>) -> Result<(), Error> {
        let at = instant::from_micros(moved.when.at);
        let book = self.levels.entry(key).or_default();
        if moved.kind.on_hand_sign() != 0 && book.is_explained(at) {
            self.explained.insert(key);
        }
        book.enter(moved.kind, at, moved.quantity)
            .map_err(|_| Error::Overflow)?;
        self.touched_levels.insert(key);
        let events = moved.kind.wear_events(moved.quantity);
        if events != 0 {
            let is_counted = moved.kind == MovementKind::UnloggedUse;
            let counted = if is_counted { events } else { 0 };
            let sums = self.sums(key, moved.group, moved.when.at);
            sums.events = add(sums.events, events)?;
            sums.events_counted = add(sums.events_counted, counted)?;
            let day = self.day(key, moved.group, moved.when.day);
            day.events = add(day.events, events)?;
            day.events_counted = add(day.events_counted, counted)?;
            if let Some(sums) = self.current(key, moved.group, moved.when) {
                sums.events = add(sums.events, events)?;
            }
        }
        Ok(())
    }

    /// Exposure of a fitted part.
    pub fn wear_part(
        &mut self,
        key: Key,
        group: &str,
        when: Occasion<'_>,
        worn: Worn,
    ) -> Result<(), Error> {
        let sums = self.sums(key, group, when.at);
        expose!(sums, worn);
        let day = self.day(key, group, when.day);
        expose!(day, worn);
        if let Some(sums) = self.current(key, group, when) {
            sums.arc_seconds = add(sums.arc_seconds, worn.arc_seconds)?;
            sums.grinds = add(sums.grinds, worn.grinds)?;
        }
        Ok(())
    }

    /// What the set adds at the current that is told, if one is.
    fn current(
        &mut self,
        key: Key,
        group: &str,
        when: Occasion<'_>,
    ) -> Option<&mut wear_currents::Model> {
        if when.polarity.is_none() && when.amps.is_none() {
            return None;
        }
        let polarity = when.polarity.unwrap_or_default().to_owned();
        let amps = when.amps.unwrap_or_default();
        let named = (key.0, key.1, group.to_owned(), polarity, amps);
        let nothing = || known::nothing_at(named.clone());
        Some(self.currents.entry(named.clone()).or_insert_with(nothing))
    }

    /// What the set adds to a day.
    fn day(&mut self, key: Key, group: &str, day: i64) -> &mut wear_days::Model {
        let named = (key, group.to_owned(), day);
        let nothing = || known::nothing_on(key, group.to_owned(), day);
        self.days.entry(named).or_insert_with(nothing)
    }

    /// A count; `later` is the sum of what moved after it.
    pub(super) fn count(&mut self, key: Key, count: &Count, later: i64) -> Result<(), Error> {
        let book = self.levels.entry(key).or_default();
        book.count(count, later).map_err(|_| Error::Overflow)?;
        self.touched_levels.insert(key);
        Ok(())
    }

    /// A count came between others or was taken back, so that the book of a later one is another.
    pub(super) fn explain(&mut self, key: Key) {
        self.explained.insert(key);
    }

    /// Puts a level that was folded anew.
    pub fn put(&mut self, key: Key, on_hand: OnHand) {
        self.levels.entry(key).or_default().on_hand = on_hand;
        self.touched_levels.insert(key);
    }

    /// Changes what is on order.
    pub fn order(&mut self, key: Key, change: i64) -> Result<(), Error> {
        let book = self.levels.entry(key).or_default();
        book.order(change).map_err(|_| Error::Overflow)?;
        self.touched_levels.insert(key);
        Ok(())
    }

    fn sums_of(&mut self, key: Key, group: &str) -> &mut wear::Model {
        self.touched_wear.insert((key, group.to_owned()));
        let groups = self.wear.entry(key).or_default();
        groups
            .entry(group.to_owned())
            .or_insert_with(|| known::nothing(key, group.to_owned()))
    }

    fn sums(&mut self, key: Key, group: &str, at: i64) -> &mut wear::Model {
        let sums = self.sums_of(key, group);
        sums.first_at = Some(sums.first_at.map_or(at, |first| first.min(at)));
        sums
    }

    /// Where the set changed more than figures.
    pub(super) fn moved(&mut self) -> Turned {
        let mut turned = Turned {
            explained: std::mem::take(&mut self.explained),
            ..Turned::default()
        };
        for key in &self.touched_levels {
            let before = self.before.get(key).copied().unwrap_or(0);
            let after = self.book(*key).on_hand.on_hand;
            if before >= 0 && after < 0 {
                turned.below.push(*key);
            } else if before < 0 && after >= 0 {
                turned.back.push(*key);
            }
        }
        turned
    }

    /// The rows that were touched.
    pub fn rows(&self) -> (Vec<levels::Model>, Vec<wear::Model>) {
        let levels = self
            .touched_levels
            .iter()
            .map(|key| book::row(&self.book(*key), *key));
        let wear = self
            .touched_wear
            .iter()
            .filter_map(|(key, group)| self.wear.get(key)?.get(group));
        (levels.collect(), wear.cloned().collect())
    }

    /// Writes back what was touched.
    pub async fn write(self, db: &impl ConnectionTrait) -> Result<(), Error> {
        let (levels, wear) = self.rows();
        store::levels::upsert_many(db, levels).await?;
        store::wear::upsert_many(db, wear).await?;
        store::wear_days::add_many(db, self.days.into_values().collect()).await?;
        store::wear_currents::add_many(db, self.currents.into_values().collect()).await?;
        Ok(())
    }
}

fn add(sum: i64, change: i64) -> Result<i64, Error> {
    sum.checked_add(change).ok_or(Error::Overflow)
}
