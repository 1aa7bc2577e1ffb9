//! What could be fitted on the torches of a site: every part of the shop, with its seats and what is
//! available there.

use std::collections::HashMap;

use domain::fit::Piece;
use domain::part::{BodyFamily, PartSpec};
use domain::seat::{Joint, Seats};
use sea_orm::ConnectionTrait;

use crate::service::ledger::book;
use crate::service::procedures::InForce;
use crate::service::seats::SeatBook;
use crate::service::{Error, parts, site_rules};
use crate::store;
use crate::store::entity::{levels, parts as part_rows, sites};

/// A part that could be fitted.
pub(in crate::service) struct Shelved {
    /// Its row.
    pub(in crate::service) row: part_rows::Model,
    /// What it is.
    pub(in crate::service) spec: PartSpec,
    /// Its seats, and whether the shop has checked them; none if they are not known.
    pub(in crate::service) seats: Option<(Seats, bool)>,
    /// How many are available at the site.
    pub(in crate::service) available: i64,
    /// Why the site, or the procedure of the job, does not permit it.
    pub(in crate::service) held_because: Option<String>,
}

impl Shelved {
    /// Where it sits: by its seats, or by its kind where they are not known.
    pub(in crate::service) fn joint(&self) -> Option<Joint> {
        let takes = self.seats.as_ref().and_then(|(seats, _)| seats.takes());
        takes.map_or_else(|| Joint::of(self.spec.kind()), |seat| Some(seat.joint()))
    }

    /// The part in words, as it stands within a sentence.
    pub(in crate::service) fn noun(&self) -> String {
        let name = self.spec.describe();
        if name.starts_with("O-ring") {
            return name;
        }
        let mut letters = name.chars();
        let first = letters
            .next()
            .map(|letter| letter.to_lowercase().to_string());
        first.unwrap_or_default() + letters.as_str()
    }
}

/// All that could be fitted at one site.
pub(in crate::service) struct Shelf {
    /// The parts by code.
    pub(in crate::service) parts: Vec<Shelved>,
    seats: SeatBook,
}

impl Shelf {
    /// Reads what could be fitted at a site.
    pub(in crate::service) async fn load(
        db: &impl ConnectionTrait,
        site: &sites::Model,
    ) -> Result<Self, Error> {
        let seats = SeatBook::load(db).await?;
        let rows = store::parts::all(db).await?;
        let keys = rows.iter().map(|row| (row.id, site.id));
        let levels = store::levels::find_many(db, keys).await?;
        let levels: HashMap<i64, &levels::Model> =
            levels.iter().map(|level| (level.part_id, level)).collect();
        let mut shelved = Vec::with_capacity(rows.len());
        for row in rows {
            let level = levels.get(&row.id).map(|level| book::read(level));
            let level = level.unwrap_or_default();
            let spec = parts::spec(&row)?;
            shelved.push(Shelved {
                available: book::level(&level, &row, site).usable(),
                held_because: site_rules::held_because(site, site_rules::of_part(site, &row)),
                seats: seats.of(row.id, &spec).cloned(),
                spec,
                row,
            });
        }
        Ok(Self {
            parts: shelved,
            seats,
        })
    }

    /// Marks what a procedure does not permit.
    pub(in crate::service) fn hold_to(&mut self, in_force: &InForce) -> Result<(), Error> {
        for shelved in &mut self.parts {
            if shelved.held_because.is_none() {
                shelved.held_because = in_force.why_not(&shelved.row)?;
            }
        }
        Ok(())
    }

    /// The seats of the head of a torch of that family.
    pub(in crate::service) fn head(&self, family: BodyFamily) -> Result<&Seats, Error> {
        Ok(&self.seats.head(family)?.0)
    }

    /// The index of a part.
    pub(in crate::service) fn index(&self, part: i64) -> Option<usize> {
        self.parts.iter().position(|shelved| shelved.row.id == part)
    }

    /// The parts as the domain sees them.
    pub(in crate::service) fn pieces(&self) -> Vec<Piece<'_>> {
        let pieces = self.parts.iter().map(|shelved| Piece {
            spec: &shelved.spec,
            seats: shelved.seats.as_ref().map(|(seats, _)| seats),
        });
        pieces.collect()
    }

    /// Whether an answer about these parts on such a torch rests on seats that nobody has checked.
    pub(in crate::service) fn is_unchecked(&self, family: BodyFamily, parts: &[usize]) -> bool {
        let unchecked = |part: &usize| matches!(self.parts[*part].seats, Some((_, false)));
        let head = self.seats.head(family).is_ok_and(|(_, checked)| *checked);
        !head || parts.iter().any(unchecked)
    }
}
