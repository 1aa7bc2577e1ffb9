//! Lots: a lot is what came in less what was told to have gone. Counts are of parts, so they touch no
//! lot; what the newest count of the part leaves no room for is a gap.

use std::collections::BTreeMap;

use super::Model;
use super::rows::{Row, sum};
use crate::shop::{JOBS, SITES, TOLD_NOW};
use crate::told::{GROUPS, Label, Place, Told};

/// Where the pieces of a lot are, in figures.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Traced {
    /// What came in.
    pub(crate) received: i64,
    /// Of what is left, what is on hold.
    pub(crate) on_hold: i64,
    /// What is not accounted for.
    pub(crate) gap: i64,
    /// By what became of it, where, and at which site.
    pub(crate) lines: BTreeMap<(String, String, String), i64>,
}

impl Model {
    /// Whether a lot came in, if one is told.
    pub(super) fn knows(&self, part: usize, lot: Option<usize>) -> bool {
        lot.is_none_or(|lot| received(&self.of_lot(part, lot)) > 0)
    }

    /// What is on hold of a lot, or outside of all lots.
    pub(super) fn held(&self, place: Place, lot: Option<usize>) -> i64 {
        let theirs = |row: &&Row| {
            (row.place.part, row.place.site) == (place.part, place.site) && row.label.lot == lot
        };
        sum(&self.rows(), theirs, Row::hold)
    }

    /// Whether so many of a lot may leave their place: what is on hold of it stays there.
    pub(super) fn free(&self, place: Place, lot: Option<usize>, quantity: i64) -> bool {
        let Some(lot) = lot else { return true };
        let rows = self.rows();
        let theirs = |row: &&Row| row.is_of(place, lot);
        let (left, held) = (
            sum(&rows, theirs, Row::change),
            sum(&rows, theirs, Row::hold),
        );
        held == 0 || quantity <= left - held
    }

    /// A use, as it would be told with its lot.
    pub(crate) fn with_lot(&self, entry: usize, lot: usize) -> Told {
        let mut told = self.entries[entry].told.clone();
        if let Told::Use { label, .. } = &mut told {
            label.lot = Some(lot);
        }
        told
    }

    fn of_lot(&self, part: usize, lot: usize) -> Vec<Row> {
        let mut rows = self.rows();
        rows.retain(|row| row.place.part == part && row.label.lot == Some(lot));
        rows
    }

    /// Whether anything was ever told of a lot, even if it was taken back.
    pub(crate) fn has_heard_of(&self, part: usize, lot: usize) -> bool {
        self.entries.iter().any(|entry| match entry.told {
            Told::Use {
                done: Some((_, of, _)),
                label,
                ..
            } => (of, label.lot) == (part, Some(lot)),
            Told::Move(place, _, _, label) => (place.part, label.lot) == (part, Some(lot)),
            Told::Receive(place, _, of) | Told::Transfer(place, _, of) => {
                (place.part, of) == (part, Some(lot))
            }
            Told::Use { done: None, .. } | Told::Count(..) | Told::Promise(..) => false,
        })
    }

    /// The entries by which what is left of a lot goes on hold, or is freed; none if that is refused.
    pub(crate) fn lot_moves(
        &self,
        part: usize,
        lot: usize,
        kind: &'static str,
    ) -> Option<Vec<Told>> {
        if !self.has_heard_of(part, lot) {
            return None;
        }
        let mut moves = Vec::new();
        for site in 0..SITES.len() {
            let slot = TOLD_NOW;
            let place = Place { part, site, slot };
            let held = self.held(place, Some(lot));
            let quantity = if kind == "release" {
                held
            } else {
                self.left(place, lot).1 - held
            };
            if quantity > 0 {
                let label = Label {
                    lot: Some(lot),
                    ..Label::default()
                };
                moves.push(Told::Move(place, kind, quantity, label));
            }
        }
        moves.iter().all(|told| self.accepts(told)).then_some(moves)
    }

    /// What is left of a lot at a site by what was told, and how much of that there is room for in
    /// what is on hand of the part.
    fn left(&self, place: Place, lot: usize) -> (i64, i64) {
        let book = sum(&self.rows(), |row| row.is_of(place, lot), Row::change);
        let on_hand = self.on_hand(place).max(0);
        (book, book.clamp(0, on_hand))
    }

    /// Where the pieces of a lot are.
    pub(crate) fn trace(&self, part: usize, lot: usize) -> Traced {
        let rows = self.of_lot(part, lot);
        let mut traced = Traced {
            received: received(&rows),
            ..Traced::default()
        };
        for row in &rows {
            let what = match row.kind {
                "issue" | "return" => "used",
                "scrap" => "scrapped",
                "supplier-return" => "sent back",
                "adjustment" => "adjusted",
                _ => continue,
            };
            let job = row.label.job.map(|job| JOBS[job]);
            let place = job.unwrap_or(GROUPS[row.label.group]);
            *traced.line(what, place, row.place.site) -= row.change();
        }
        for (site, code) in SITES.into_iter().enumerate() {
            let place = Place {
                part,
                site,
                slot: 0,
            };
            let (book, left) = self.left(place, lot);
            *traced.line("left", code, site) += left;
            traced.on_hold += self.held(place, Some(lot)).min(left);
            // What moved between the sites changes no sum, so all that is missing is missing here.
            traced.gap += book - left;
        }
        traced.lines.retain(|_, quantity| *quantity != 0);
        traced
    }
}

impl Traced {
    fn line(&mut self, what: &str, place: &str, site: usize) -> &mut i64 {
        let [what, place, site] = [what, place, SITES[site]].map(str::to_owned);
        self.lines.entry((what, place, site)).or_default()
    }
}

fn received(rows: &[Row]) -> i64 {
    sum(rows, |row| row.kind == "receipt", |row| row.quantity)
}
