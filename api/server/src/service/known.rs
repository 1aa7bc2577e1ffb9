//! What is known: levels, orders and wear as they are kept for the present, and computed from the
//! ledger for any other instant. One computation serves the past and the rebuild, which holds what is
//! kept against it, so that the present and the past cannot drift apart.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Utc};
use domain::ledger::{Book, Count, MovementKind, OnHand};
use sea_orm::ConnectionTrait;
use types::Violation;

use super::ledger::book;
use super::orders::{filled, to_come_of};
use super::{Error, instant, orders};
use crate::store;
use crate::store::entity::{order_lines, orders as order_rows, wear, wear_days};
use crate::store::past::{self, Facts};

mod currents;

pub(super) use currents::{CurrentKey, current_key, nothing_at};
pub use currents::{currents_from, wear_currents};

/// The instant that figures stand for, and which facts they follow from.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// The instant.
    pub at: DateTime<Utc>,
    /// Nothing for the present, which is kept.
    facts: Option<Facts>,
}

impl View {
    /// What is known now; weeks are counted up to `at`.
    pub const fn present(at: DateTime<Utc>) -> Self {
        Self { at, facts: None }
    }

    /// What is known now of what happened by an instant.
    pub fn happened_by(at: DateTime<Utc>) -> Self {
        let facts = Some(Facts::HappenedBy(at.timestamp_micros()));
        Self { at, facts }
    }

    /// What was known at an instant: what had been received by then.
    pub fn received_by(at: DateTime<Utc>) -> Self {
        let facts = Some(Facts::ReceivedBy(at.timestamp_micros()));
        Self { at, facts }
    }

    /// What is asked for by `as_of` and `known`, or the present.
    ///
    /// # Errors
    /// A violation for each that cannot be read, or an instant that is still to come.
    pub fn asked(
        as_of: Option<&str>,
        known: Option<&str>,
        present: DateTime<Utc>,
    ) -> Result<Self, Vec<Violation>> {
        let then = match known {
            None | Some("now") => false,
            Some("then") => true,
            Some(other) => {
                let why = format!("\"{other}\" is unknown; give then or now");
                return Err(vec![Violation::new("?known", why)]);
            }
        };
        let Some(text) = as_of else {
            if known.is_some() {
                let why = "stands alone; give as_of with it, such as 2026-06-15T08:00:00-03:00";
                return Err(vec![Violation::new("?known", why)]);
            }
            return Ok(Self::present(present));
        };
        let at = instant::asked_as("?as_of", Some(text), present)?;
        if at > present {
            let why = format!("\"{text}\" is still to come; give an instant that is past");
            return Err(vec![Violation::new("?as_of", why)]);
        }
        let micros = at.timestamp_micros();
        let facts = if then {
            Facts::ReceivedBy(micros)
        } else {
            Facts::HappenedBy(micros)
        };
        let facts = Some(facts);
        Ok(Self { at, facts })
    }

    /// The same for a planning call, which may name the instant to plan from instead.
    ///
    /// # Errors
    /// As above, or both are given.
    pub fn planned(
        (as_of, known): (Option<&str>, Option<&str>),
        now: Option<&str>,
        present: DateTime<Utc>,
    ) -> Result<Self, Vec<Violation>> {
        if as_of.is_some() && now.is_some() {
            let why = "cannot be given with as_of, which is the instant to plan from as well";
            return Err(vec![Violation::new("?now", why)]);
        }
        let view = Self::asked(as_of, known, present)?;
        if view.facts.is_some() {
            return Ok(view);
        }
        Ok(Self::present(instant::asked(now, present)?))
    }

    /// The instant by which it is known what was fitted; nothing for the present.
    pub fn past(self) -> Option<i64> {
        self.facts.map(|_| self.at.timestamp_micros())
    }

    /// Which facts figures follow from.
    pub fn facts(self) -> Facts {
        self.facts.unwrap_or(Facts::All)
    }

    /// What the figures stand for, in words; nothing for the present.
    pub fn says(self) -> Option<String> {
        let at = self.at.format("%-d %b %Y %H:%M:%S UTC");
        let known = match self.facts? {
            Facts::All => return None,
            Facts::ReceivedBy(_) => "as it was known then: only what had been received by then",
            Facts::HappenedBy(_) => {
                "as it is known now: everything received to this day that happened by then"
            }
        };
        Some(format!(
            "As of {at}, {known}. Parts, kits, jobs, suppliers and offers are those of today."
        ))
    }
}

/// The levels of those parts at a site; a part without one has nothing.
pub async fn levels(
    db: &impl ConnectionTrait,
    view: View,
    (site, parts): (i64, &[i64]),
) -> Result<HashMap<i64, Book>, Error> {
    if let Some(facts) = view.facts {
        return levels_from(db, facts, (site, parts)).await;
    }
    let rows = store::levels::find_many(db, parts.iter().map(|part| (*part, site))).await?;
    let books = rows.iter().map(|row| (row.part_id, book::read(row)));
    Ok(books.collect())
}

/// The levels of those parts at a site, from the facts.
pub async fn levels_from(
    db: &impl ConnectionTrait,
    facts: Facts,
    (site, parts): (i64, &[i64]),
) -> Result<HashMap<i64, Book>, Error> {
    let mut books: HashMap<i64, Book> = HashMap::new();
    let counts = past::newest_counts(db, (site, parts), facts).await?;
    let sums = past::sums(db, (site, parts), None, facts).await?;
    for sum in sums {
        let kind = kind(&sum.kind)?;
        let book = books.entry(sum.part_id).or_default();
        add(
            &mut book.on_hand.on_hand,
            kind.on_hand_sign() * sum.quantity,
        )?;
        add(&mut book.on_hold, kind.on_hold_sign() * sum.quantity)?;
        add(&mut book.allocated, kind.allocated_sign() * sum.quantity)?;
    }
    for row in counts {
        let after = Some(row.happened_at);
        let mut later = 0;
        for sum in past::sums(db, (site, &[row.part_id]), after, facts).await? {
            add(&mut later, kind(&sum.kind)?.on_hand_sign() * sum.quantity)?;
        }
        let count = Count {
            at: instant::from_micros(row.happened_at),
            counted: row.counted,
            id: row.entry_id.as_u128(),
        };
        let on_hand = OnHand::default().apply_count(&count, later);
        books.entry(row.part_id).or_default().on_hand = on_hand.map_err(|_| Error::Overflow)?;
    }
    for (_, lines) in orders_from(db, facts, site).await? {
        for line in lines.iter().filter(|line| parts.contains(&line.part_id)) {
            let to_come = to_come_of(line).unwrap_or_default();
            add(
                &mut books.entry(line.part_id).or_default().on_order,
                to_come,
            )?;
        }
    }
    Ok(books)
}

/// An order with its lines.
pub type Ordered = (order_rows::Model, Vec<order_lines::Model>);

/// The orders to a site of which something is to come, their lines with what has come of them.
pub async fn orders_to(
    db: &impl ConnectionTrait,
    view: View,
    site: i64,
) -> Result<Vec<Ordered>, Error> {
    match view.facts {
        Some(facts) => orders_from(db, facts, site).await,
        None => with_lines(db, under_way_at(db, site).await?).await,
    }
}

/// The same, from the facts: what has come of a line follows from the receipts.
async fn orders_from(
    db: &impl ConnectionTrait,
    facts: Facts,
    site: i64,
) -> Result<Vec<Ordered>, Error> {
    let rows = match facts {
        Facts::All => under_way_at(db, site).await?,
        Facts::ReceivedBy(at) | Facts::HappenedBy(at) => {
            store::orders::on_order_at(db, site, at).await?
        }
    };
    let numbers: Vec<i64> = rows.iter().map(|row| row.id).collect();
    let came = past::received(db, &numbers, facts).await?;
    let came: HashMap<(i64, i64), i64> = came
        .into_iter()
        .map(|came| ((came.order_id, came.part_id), came.quantity))
        .collect();
    let mut ordered = with_lines(db, rows).await?;
    for (order, lines) in &mut ordered {
        let mut left: BTreeMap<i64, i64> = BTreeMap::new();
        for line in lines {
            let came = came.get(&(order.id, line.part_id)).copied();
            let left = left
                .entry(line.part_id)
                .or_insert_with(|| came.unwrap_or(0).max(0));
            line.received = filled(line, left);
        }
    }
    Ok(ordered)
}

async fn under_way_at(
    db: &impl ConnectionTrait,
    site: i64,
) -> Result<Vec<order_rows::Model>, Error> {
    let mut rows = orders::under_way(db).await?;
    rows.retain(|row| row.site_id == site);
    Ok(rows)
}

async fn with_lines(
    db: &impl ConnectionTrait,
    rows: Vec<order_rows::Model>,
) -> Result<Vec<Ordered>, Error> {
    let mut lines: HashMap<i64, Vec<order_lines::Model>> = HashMap::new();
    for line in store::orders::lines(db, rows.iter().map(|row| row.id)).await? {
        lines.entry(line.order_id).or_default().push(line);
    }
    let with_lines = rows.into_iter().map(|row| {
        let lines = lines.remove(&row.id).unwrap_or_default();
        (row, lines)
    });
    Ok(with_lines.collect())
}

/// What wear of those parts at a site is learned from, by operator group.
pub async fn wear(
    db: &impl ConnectionTrait,
    view: View,
    (site, parts): (i64, &[i64]),
) -> Result<Vec<wear::Model>, Error> {
    match view.facts {
        Some(facts) => wear_from(db, facts, (site, parts)).await,
        None => Ok(store::wear::find_many(db, parts.iter().map(|part| (*part, site))).await?),
    }
}

/// What wear of those parts at a site is learned from, day by day from a first day on, by operator
/// group, oldest first.
pub async fn wear_days(
    db: &impl ConnectionTrait,
    view: View,
    (site, parts): (i64, &[i64]),
    first: i64,
) -> Result<Vec<wear_days::Model>, Error> {
    let Some(facts) = view.facts else {
        return Ok(store::wear_days::find_many(db, (site, parts), first).await?);
    };
    let mut days: Vec<wear_days::Model> = worn_from(db, facts, (site, parts))
        .await?
        .into_iter()
        .map(|worn| worn.sums)
        .filter(|sums| sums.day >= first)
        .collect();
    days.sort_by_key(|row| row.day);
    Ok(days)
}

/// The totals, from the facts.
async fn wear_from(
    db: &impl ConnectionTrait,
    facts: Facts,
    (site, parts): (i64, &[i64]),
) -> Result<Vec<wear::Model>, Error> {
    totals(&worn_from(db, facts, (site, parts)).await?)
}

/// What wore a part on one day, and the first instant of it.
#[derive(Clone, Debug)]
pub struct Worn {
    /// The sums of the day.
    pub sums: wear_days::Model,
    /// The first instant.
    pub first_at: i64,
}

/// What wore those parts at a site, day by day, from the facts.
pub async fn worn_from(
    db: &impl ConnectionTrait,
    facts: Facts,
    (site, parts): (i64, &[i64]),
) -> Result<Vec<Worn>, Error> {
    let kinds = MovementKind::ALL
        .iter()
        .filter(|kind| kind.wear_events(1) != 0);
    let kinds: Vec<&str> = kinds.map(|kind| kind.as_str()).collect();
    let mut days = Days {
        site,
        rows: BTreeMap::new(),
    };
    for used in past::used(db, (site, parts), &kinds, facts).await? {
        let kind = kind(&used.kind)?;
        let events = kind.wear_events(used.quantity);
        let row = days.of((used.part_id, used.operator_group, used.day), used.first_at);
        add(&mut row.events, events)?;
        if kind == MovementKind::UnloggedUse {
            add(&mut row.events_counted, events)?;
        }
    }
    for worn in past::exposed(db, (site, parts), facts).await? {
        let row = days.of((worn.part_id, worn.operator_group, worn.day), worn.first_at);
        add(&mut row.arc_seconds, worn.arc_seconds)?;
        add(&mut row.arc_counter_seconds, worn.arc_counter_seconds)?;
        add(&mut row.arc_cylinder_seconds, worn.arc_cylinder_seconds)?;
        add(&mut row.grinds, worn.grinds)?;
        add(&mut row.cut_backs, worn.cut_backs)?;
        add(&mut row.starts, worn.starts)?;
        add(&mut row.student_days, worn.student_days)?;
    }
    Ok(days.rows.into_values().collect())
}

/// Days at a site, as they add up.
struct Days {
    site: i64,
    rows: BTreeMap<(i64, String, i64), Worn>,
}

impl Days {
    /// The day of a part and a group, to which something is added that first happened then.
    fn of(&mut self, key: (i64, String, i64), first: i64) -> &mut wear_days::Model {
        let site = self.site;
        let worn = self.rows.entry(key.clone()).or_insert_with(|| Worn {
            sums: nothing_on((key.0, site), key.1, key.2),
            first_at: first,
        });
        worn.first_at = worn.first_at.min(first);
        &mut worn.sums
    }
}

/// The days of parts and groups, added up.
pub fn totals(days: &[Worn]) -> Result<Vec<wear::Model>, Error> {
    let mut totals: BTreeMap<(i64, &str), wear::Model> = BTreeMap::new();
    for Worn { sums, first_at } in days {
        let key = (sums.part_id, sums.operator_group.as_str());
        let total = totals
            .entry(key)
            .or_insert_with(|| nothing((sums.part_id, sums.site_id), sums.operator_group.clone()));
        total.first_at = Some(
            total
                .first_at
                .map_or(*first_at, |first| first.min(*first_at)),
        );
        for (sum, more) in [
            (&mut total.events, sums.events),
            (&mut total.events_counted, sums.events_counted),
            (&mut total.arc_seconds, sums.arc_seconds),
            (&mut total.arc_counter_seconds, sums.arc_counter_seconds),
            (&mut total.arc_cylinder_seconds, sums.arc_cylinder_seconds),
            (&mut total.grinds, sums.grinds),
            (&mut total.cut_backs, sums.cut_backs),
            (&mut total.starts, sums.starts),
            (&mut total.student_days, sums.student_days),
        ] {
            add(sum, more)?;
        }
    }
    Ok(totals.into_values().collect())
}

/// Sums of nothing.
pub(super) fn nothing((part_id, site_id): (i64, i64), operator_group: String) -> wear::Model {
    wear::Model {
        part_id,
        site_id,
        operator_group,
        events: 0,
        arc_seconds: 0,
        grinds: 0,
        cut_backs: 0,
        starts: 0,
        first_at: None,
        events_counted: 0,
        arc_counter_seconds: 0,
        arc_cylinder_seconds: 0,
        student_days: 0,
    }
}

/// Sums of nothing on a day.
pub(super) fn nothing_on(
    (part_id, site_id): (i64, i64),
    operator_group: String,
    day: i64,
) -> wear_days::Model {
    wear_days::Model {
        part_id,
        site_id,
        operator_group,
        day,
        events: 0,
        events_counted: 0,
        arc_seconds: 0,
        arc_counter_seconds: 0,
        arc_cylinder_seconds: 0,
        grinds: 0,
        cut_backs: 0,
        starts: 0,
        student_days: 0,
    }
}

fn kind(word: &str) -> Result<MovementKind, Error> {
    MovementKind::parse(word).map_err(|error| Error::Internal(error.to_string()))
}

fn add(sum: &mut i64, change: i64) -> Result<(), Error> {
    *sum = sum.checked_add(change).ok_or(Error::Overflow)?;
    Ok(())
}
