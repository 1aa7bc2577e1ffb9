//! The rows that stand of all that was told: what each entry moved, and what followed from it when it
//! came in. Pieces of a lot that are gone are not on hold any more, and an issue for a job comes off
//! what it was promised.

use super::{Event, Model, same, site_of};
use crate::shop::TOLD_NOW;
use crate::told::{Label, Place, Told};

/// A row.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    entry: usize,
    pub(super) place: Place,
    pub(super) kind: &'static str,
    pub(super) quantity: i64,
    pub(super) label: Label,
}

impl Row {
    /// By how much it changes what is on hand.
    pub(super) fn change(&self) -> i64 {
        match self.kind {
            "receipt" | "return" | "adjustment" | "transfer" => self.quantity,
            "issue" | "scrap" | "supplier-return" | "unlogged-use" => -self.quantity,
            _ => 0,
        }
    }

    /// By how much it changes what is on hold.
    pub(super) fn hold(&self) -> i64 {
        match self.kind {
            "hold" => self.quantity,
            "release" => -self.quantity,
            _ => 0,
        }
    }

    fn promise(&self) -> i64 {
        if self.kind == "allocation" {
            self.quantity
        } else {
            0
        }
    }

    pub(super) fn is_of(&self, place: Place, lot: usize) -> bool {
        same(self.place, place) && self.label.lot == Some(lot)
    }
}

/// The sum of what some rows say.
pub(super) fn sum<'r>(
    rows: &'r [Row],
    these: impl Fn(&&'r Row) -> bool,
    what: impl Fn(&Row) -> i64,
) -> i64 {
    rows.iter().filter(these).map(what).sum()
}

/// What a job is promised of a part at a site.
pub(super) fn promised(rows: &[Row], job: usize, place: Place) -> i64 {
    let theirs = |row: &&Row| same(row.place, place) && row.label.job == Some(job);
    sum(rows, theirs, Row::promise)
}

/// What all jobs are promised of it.
pub(super) fn allocated(rows: &[Row], place: Place) -> i64 {
    sum(rows, |row| same(row.place, place), Row::promise)
}

impl Model {
    /// The rows that stand.
    pub(super) fn rows(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for event in &self.events {
            match *event {
                Event::TakeBack(entry) => rows.retain(|row: &Row| row.entry != entry),
                Event::Tell(entry) => {
                    let moved = moved(&self.entries[entry].told, &rows);
                    for (place, kind, quantity, label) in moved {
                        let row = Row {
                            entry,
                            place,
                            kind,
                            quantity,
                            label,
                        };
                        rows.push(row);
                        let followed = [freed(&rows, row), kept(&rows, row)];
                        rows.extend(followed.into_iter().flatten());
                    }
                }
            }
        }
        let until = self.until.unwrap_or(i64::MAX);
        rows.retain(|row| row.place.slot <= until);
        rows
    }
}

/// What an entry moves by itself.
fn moved(told: &Told, rows: &[Row]) -> Vec<(Place, &'static str, i64, Label)> {
    let of = |lot| Label {
        lot,
        ..Label::default()
    };
    match *told {
        Told::Use {
            torch,
            slot,
            done: Some((what, part, quantity)),
            label,
            ..
        } => {
            let site = site_of(torch);
            let kind = if what == "put-back" {
                "return"
            } else {
                "issue"
            };
            vec![(Place { part, site, slot }, kind, quantity, label)]
        }
        Told::Use { done: None, .. } | Told::Count(..) => Vec::new(),
        Told::Move(place, kind, quantity, label) => vec![(place, kind, quantity, label)],
        Told::Receive(place, quantity, lot) => vec![(place, "receipt", quantity, of(lot))],
        Told::Transfer(from, quantity, lot) => {
            let to = Place {
                site: 1 - from.site,
                ..from
            };
            vec![
                (from, "transfer", -quantity, of(lot)),
                (to, "transfer", quantity, of(lot)),
            ]
        }
        Told::Promise(place, job, quantity) => {
            let change = quantity - promised(rows, job, place);
            let label = Label {
                job: Some(job),
                ..Label::default()
            };
            let slot = TOLD_NOW;
            vec![(Place { slot, ..place }, "allocation", change, label)]
        }
    }
}

/// What is freed of a lot because more of it was held than is left.
fn freed(rows: &[Row], row: Row) -> Option<Row> {
    let lot = row.label.lot.filter(|_| row.change() < 0)?;
    let theirs = |other: &&Row| other.is_of(row.place, lot);
    let left = sum(rows, theirs, Row::change);
    let held = sum(rows, theirs, Row::hold);
    let quantity = held - left.max(0);
    (quantity > 0).then_some(Row {
        kind: "release",
        quantity,
        ..row
    })
}

/// What a promise was kept by.
fn kept(rows: &[Row], row: Row) -> Option<Row> {
    let job = row.label.job.filter(|_| row.kind == "issue")?;
    let kept = row.quantity.min(promised(rows, job, row.place));
    (kept > 0).then_some(Row {
        kind: "allocation",
        quantity: -kept,
        ..row
    })
}
