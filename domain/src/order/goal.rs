//! What an order is to reach: fixed numbers of pieces, or the chance of a whole job. Both become a
//! table a part: the logarithm of the chance that it lasts, by units bought.

use thiserror::Error;

use super::{Market, Offer, OrderError, Purchase};
use crate::forecast::Target;
use crate::job::JobLine;

/// A table has no more rows than this.
pub(super) const ROWS_MAX: usize = 50_000;

/// A chance of being short below this does not count.
const NOTHING: f64 = 1e-14;

/// What an order is to reach. The parts are numbered as the offers of the market name them.
#[derive(Debug, Clone, PartialEq)]
pub struct Goal {
    kind: Kind,
}

#[derive(Debug, Clone, PartialEq)]
enum Kind {
    Pieces(Vec<i64>),
    Chance { lines: Vec<JobLine>, target: f64 },
    Tables { ln: Vec<Vec<f64>>, ln_target: f64 },
}

/// Why there is no such goal.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum GoalError {
    /// A number of pieces below zero.
    #[error("at least 0 pieces are wanted, not {0}")]
    Pieces(i64),
}

impl Goal {
    /// At least so many pieces of each part.
    ///
    /// # Errors
    /// [`GoalError`] for a number below zero.
    pub fn pieces(wanted: Vec<i64>) -> Result<Self, GoalError> {
        match wanted.iter().find(|pieces| **pieces < 0) {
            Some(pieces) => Err(GoalError::Pieces(*pieces)),
            None => Ok(Self {
                kind: Kind::Pieces(wanted),
            }),
        }
    }

    /// A job that runs without a stop with the target chance: the product over its lines of
    /// P(use <= available + bought).
    pub fn chance(lines: Vec<JobLine>, target: Target) -> Self {
        let target = target.get();
        Self {
            kind: Kind::Chance { lines, target },
        }
    }

    /// Each line alone at the target: the smallest number of pieces with P(use <= available +
    /// bought) at or above it.
    pub fn each_at(lines: &[JobLine], target: Target) -> Self {
        let wanted = lines.iter().map(|line| {
            let need = line.predictive.quantile(target.get());
            let need = i64::try_from(need).unwrap_or(i64::MAX);
            need.saturating_sub(line.available).max(0)
        });
        Self {
            kind: Kind::Pieces(wanted.collect()),
        }
    }

    /// Any tables by units bought that rise and add up over the parts.
    pub(super) fn tables_of(ln: Vec<Vec<f64>>, ln_target: f64) -> Self {
        Self {
            kind: Kind::Tables { ln, ln_target },
        }
    }

    fn parts(&self) -> usize {
        match &self.kind {
            Kind::Pieces(wanted) => wanted.len(),
            Kind::Chance { lines, .. } => lines.len(),
            Kind::Tables { ln, .. } => ln.len(),
        }
    }

    /// The logarithm of the chance to reach; 0 for fixed numbers, whose tables are 0 or impossible.
    pub(super) fn ln_target(&self) -> f64 {
        match &self.kind {
            Kind::Pieces(_) => 0.0,
            Kind::Chance { target, .. } => target.ln(),
            Kind::Tables { ln_target, .. } => *ln_target,
        }
    }

    /// The table of each part.
    pub(super) fn tables(&self, market: &Market) -> Result<Vec<Table>, OrderError> {
        let parts = self.parts();
        if let Some(offer) = market.offers.iter().find(|offer| offer.part >= parts) {
            return Err(OrderError::NoPart(offer.part, parts));
        }
        (0..parts).map(|part| self.table(market, part)).collect()
    }

    fn table(&self, market: &Market, part: usize) -> Result<Table, OrderError> {
        let mut table = Table::of(market, part);
        if let Kind::Tables { ln, .. } = &self.kind {
            table.ln.clone_from(&ln[part]);
            return Ok(table);
        }
        let Some(unit) = table.unit else {
            table.ln = vec![self.ln_of(part, 0)];
            return Ok(table);
        };
        let mut pieces = 0_i64;
        loop {
            let ln = self.ln_of(part, pieces);
            table.ln.push(ln);
            if ln > -NOTHING {
                return Ok(table);
            }
            if table.ln.len() > ROWS_MAX {
                return Err(OrderError::TooFine(part));
            }
            pieces = pieces.saturating_add(unit);
        }
    }

    /// The logarithm of the chance that a part lasts with so many pieces more.
    fn ln_of(&self, part: usize, pieces: i64) -> f64 {
        match &self.kind {
            Kind::Pieces(wanted) if pieces >= wanted[part] => 0.0,
            Kind::Pieces(_) => f64::NEG_INFINITY,
            Kind::Chance { lines, .. } => {
                let line = &lines[part];
                let available = line.available.saturating_add(pieces);
                let available = u64::try_from(available).unwrap_or(0);
                // Accurate where being short is unlikely.
                (-line.predictive.sf(available)).ln_1p()
            }
            // Given row by row.
            Kind::Tables { .. } => 0.0,
        }
    }
}

/// One part: its offers, and what each number of units bought is worth.
#[derive(Debug, Clone)]
pub(super) struct Table {
    /// Its offers, by place in the market.
    pub(super) offers: Vec<usize>,
    /// The greatest common divisor of its packs; none without offers.
    unit: Option<i64>,
    /// The logarithm of the chance that it lasts, by units bought; the last row stands for all more.
    pub(super) ln: Vec<f64>,
}

impl Table {
    pub(super) fn of(market: &Market, part: usize) -> Self {
        let offers = market.offers.iter().enumerate();
        let offers: Vec<usize> = offers
            .filter_map(|(index, offer)| (offer.part == part).then_some(index))
            .collect();
        let sizes = offers.iter().map(|index| market.offers[*index].pack_size);
        Self {
            unit: sizes.reduce(divisor),
            offers,
            ln: Vec::new(),
        }
    }

    /// The most units that make a difference.
    pub(super) fn end(&self) -> usize {
        self.ln.len() - 1
    }

    /// The pieces in one unit; none if nobody offers the part.
    pub(super) fn unit(&self) -> Option<i64> {
        self.unit
    }

    /// The units that an order brings.
    pub(super) fn units(&self, market: &Market, purchases: &[Purchase]) -> usize {
        let of_part = purchases
            .iter()
            .filter(|it| self.offers.contains(&it.offer));
        let units = of_part.map(|purchase| {
            let packs = usize::try_from(purchase.packs).unwrap_or(0);
            packs.saturating_mul(self.size(&market.offers[purchase.offer]))
        });
        units.fold(0, usize::saturating_add)
    }

    /// The units in a pack of an offer of this part.
    pub(super) fn size(&self, offer: &Offer) -> usize {
        let unit = self.unit.unwrap_or(1).max(1);
        usize::try_from(offer.pack_size / unit).unwrap_or(usize::MAX)
    }
}

/// The greatest common divisor of two numbers from 1 up (Euclid).
fn divisor(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { divisor(b, a % b) }
}
