//! The stock of parts that are watched: their laws and limits are found before the write transaction, and
//! their levels are read in it, so that nothing is decided on what was true a moment ago.

use std::collections::HashMap;

use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use domain::part::Unit;
use domain::warning::{Stock, WarningKind, clear_level};
use types::WarningFigures;

use super::candidate::{Candidate, HOURS_A_DAY};
use super::source::{Coming, Market, Source};
use super::uses::Pooled;
use super::words::{self, Said};
use super::work::JobNeed;
use crate::service::Error;
use crate::service::ledger::book;
use crate::store::entity::{levels, parts, sites};

/// In how many days an order comes where nobody is known to sell the part (starting assumption, invented).
pub(super) const LEAD_ASSUMED: [(u32, f64); 1] = [(7, 1.0)];

/// Parts whose stock is watched together, with all that does not change with a take.
pub(super) struct StockWatch {
    pub(super) key: String,
    pub(super) subject: String,
    pub(super) name: String,
    pub(super) unit: Unit,
    pub(super) parts: Vec<parts::Model>,
    pub(super) channels: Vec<String>,
    /// None where nothing is known of their use.
    pub(super) uses: Option<Pooled>,
    /// In how many days an order of now comes, each with its chance.
    pub(super) lead: Vec<(u32, f64)>,
    /// The part whose offer comes first.
    pub(super) from: Option<i64>,
    pub(super) point: i64,
    /// The torches that stop without them.
    pub(super) stops: Vec<String>,
    /// The first work to come that needs more of them than there are.
    pub(super) job: Option<JobNeed>,
}

/// Where and when it is read.
pub(super) struct Here<'h> {
    pub(super) site: &'h sites::Model,
    pub(super) now: DateTime<Utc>,
    pub(super) today: NaiveDate,
    pub(super) market: &'h Market,
    pub(super) levels: &'h HashMap<i64, levels::Model>,
    pub(super) coming: &'h HashMap<i64, Vec<Coming>>,
    /// Pieces of each part that an entry took which may be a double, and the question about it.
    pub(super) doubtful: &'h HashMap<i64, (i64, String)>,
}

/// How many whole packs of a source there have to be until a warning is over.
pub(super) fn wanted_packs(stock: &Stock, source: &Source) -> i64 {
    let size = source.offer.pack_size.max(1);
    let wanted = (clear_level(stock.point) - stock.position()).max(1);
    wanted / size + i64::from(wanted % size > 0)
}

impl StockWatch {
    /// The ids of its parts.
    pub(super) fn ids(&self) -> impl Iterator<Item = i64> {
        self.parts.iter().map(|part| part.id)
    }

    /// As it reads now; nothing where none of its parts was ever counted or received.
    pub(super) fn read(&self, here: &Here<'_>) -> Result<Option<Candidate>, Error> {
        let (mut on_hand, mut available, mut on_order, mut known) = (0, 0, 0, false);
        for part in &self.parts {
            let Some(row) = here.levels.get(&part.id) else {
                continue;
            };
            let level = book::level(&book::read(row), part, here.site);
            known |= row.counted_at.is_some() || row.on_hand != 0;
            on_hand += level.on_hand;
            available += level.usable();
            on_order += level.on_order;
        }
        if !known {
            return Ok(None);
        }
        let coming = self.ids().filter_map(|id| here.coming.get(&id)).flatten();
        let next = coming.min_by_key(|it| it.due);
        let in_time = next.filter(|it| here.now < it.late_from);
        let delivery = match in_time {
            Some(coming) => Some(coming.due),
            None => self.source(here).map(|source| source.arrives),
        };
        let stock = Stock {
            point: self.point,
            on_hand,
            available,
            on_order,
            late_from: next.map(|it| it.late_from),
            chance: self.chance(available, in_time, here.today)?,
        };
        self.candidate(stock, (next, delivery), here).map(Some)
    }

    /// The chance of being short before the next delivery.
    fn chance(
        &self,
        available: i64,
        in_time: Option<&Coming>,
        today: NaiveDate,
    ) -> Result<f64, Error> {
        let Some(uses) = &self.uses else {
            return Ok(0.0);
        };
        match in_time {
            Some(coming) => {
                let days = (coming.due - today).num_days().max(1);
                uses.short(&[(u32::try_from(days).unwrap_or(u32::MAX), 1.0)], available)
            }
            None => uses.short(&self.lead, available),
        }
    }

    fn source<'h>(&self, here: &Here<'h>) -> Option<&'h Source> {
        self.from.and_then(|part| here.market.source(part))
    }

    fn candidate(
        &self,
        stock: Stock,
        (coming, delivery): (Option<&Coming>, Option<NaiveDate>),
        here: &Here<'_>,
    ) -> Result<Candidate, Error> {
        let per_week = self.uses.as_ref().map(Pooled::per_week).transpose()?;
        let early = match &self.uses {
            Some(uses) => uses.early(stock.position())?,
            None => None,
        };
        let said = Said {
            watch: self,
            stock: &stock,
            per_week,
            early,
            coming,
            delivery,
            source: self.source(here),
            market: here.market,
            today: here.today,
        };
        let doubt = self.doubt(&stock, here);
        let days = delivery.map_or(7, |day| (day - here.today).num_days().max(1));
        let stopped = self.stops.len().max(1);
        #[expect(clippy::cast_precision_loss, reason = "a weight, not a quantity")]
        let hours = days as f64 * stopped as f64 * HOURS_A_DAY;
        // What is gone and has no record stops somebody sooner or later; nothing else is known of it.
        let is_gone = self.uses.is_none() && stock.available <= 0;
        let chance = if is_gone { 1.0 } else { stock.chance };
        Ok(Candidate {
            kind: WarningKind::OrderPoint,
            key: self.key.clone(),
            subject: self.subject.clone(),
            part: match self.parts.as_slice() {
                [part] => Some(part.id),
                _ => None,
            },
            job: None,
            course: None,
            channels: self.channels.clone(),
            reading: stock.reading(),
            weight: chance * hours,
            says: format!("{doubt}{}", words::low(&said)),
            louder: format!("{doubt}{}", words::worse(&said)),
            figures: Some(WarningFigures {
                on_hand: stock.on_hand,
                available: stock.available,
                on_order: stock.on_order,
                order_point: stock.point,
                clear_level: clear_level(stock.point),
                chance: stock.chance,
                delivery,
                order_by: self.order_by(&said),
                per_week,
            }),
        })
    }

    /// By when to order: for work that needs more than there is, else before all is used up.
    fn order_by(&self, said: &Said<'_>) -> Option<NaiveDateTime> {
        let purchase = self.job.as_ref().and_then(|job| job.purchase.as_ref());
        purchase.map_or_else(|| words::order_by(said), |it| Some(it.order_by))
    }

    /// What is said first where only an entry that may be a double takes it to its order point.
    fn doubt(&self, stock: &Stock, here: &Here<'_>) -> String {
        let doubtful: Vec<&(i64, String)> =
            self.ids().filter_map(|id| here.doubtful.get(&id)).collect();
        let pieces: i64 = doubtful.iter().map(|(pieces, _)| pieces).sum();
        let Some((_, question)) = doubtful.first().filter(|_| {
            stock.position() <= stock.point && stock.position().saturating_add(pieces) > stock.point
        }) else {
            return String::new();
        };
        let without = self.unit.amount(stock.available.saturating_add(pieces));
        format!("Perhaps not: {question} If it is the same, {without} are left. ")
    }
}
