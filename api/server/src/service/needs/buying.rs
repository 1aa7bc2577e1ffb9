//! Who sells what a piece of work is short of, what is on order of it, and when either comes. Which
//! packs are bought is in `proposal`, what is said of the order in `orders`.

use std::collections::HashMap;

use chrono::{NaiveDate, NaiveDateTime};
use sea_orm::ConnectionTrait;
use types::{EarliestArrival, LastOrder, NeedOrder};
use uuid::Uuid;

use crate::service::known::{self, View};
use crate::service::lead_times::Delivery;
use crate::service::orders::to_come_of;
use crate::service::{Error, instant, suppliers};
use crate::store;
use crate::store::entity::{offer_breaks, offers, sites, suppliers as rows};

mod late;
mod orders;
mod proposal;

pub(super) use orders::total;
pub(super) use proposal::{Proposal, in_time};

/// Offers and suppliers for a piece of work, and when each would deliver.
pub(in crate::service) struct Market {
    offers: Vec<Selling>,
    suppliers: HashMap<i64, Seller>,
    coming: Vec<Coming>,
    start: NaiveDate,
}

/// An offer, with its price breaks and when it would come.
struct Selling {
    row: offers::Model,
    breaks: Vec<offer_breaks::Model>,
    arrives: NaiveDate,
    in_time: bool,
    /// The last local time at which an order comes in time; none if there is none.
    order_by: Option<NaiveDateTime>,
}

impl Selling {
    /// The price of one pack, if so many are bought.
    fn price_of(&self, packs: i64) -> i64 {
        let reached = self.breaks.iter().rev().find(|it| it.packs_min <= packs);
        reached.map_or(self.row.price_minor, |it| it.price_minor)
    }
}

struct Seller {
    row: rows::Model,
    delivery: Delivery,
}

/// Pieces of one part that are on order, and when they are expected.
struct Coming {
    part: i64,
    pieces: i64,
    arrives: NaiveDate,
}

/// What a piece costs: the price of a pack and how many it holds.
pub(super) struct PiecePrice {
    pub(super) pack_minor: i64,
    pub(super) pack_size: i64,
    pub(super) currency: String,
}

/// What is on order of one part, by whether it comes before the start.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct OnOrder {
    /// It comes before the start.
    pub(super) in_time: i64,
    /// It does not.
    pub(super) late: i64,
    /// When the first of what is late is expected.
    pub(super) late_arrives: Option<NaiveDate>,
}

/// Packs of one part from one supplier.
#[derive(Clone, Debug)]
pub(in crate::service) struct Bought {
    offer: Uuid,
    supplier: i64,
    /// The code of the supplier.
    pub(in crate::service) from: String,
    /// How many packs.
    pub(in crate::service) packs: i64,
    /// How many one pack holds.
    pub(in crate::service) pack_size: i64,
    /// Packs times pack size.
    pub(super) pieces: i64,
    /// The goods alone.
    pub(super) goods_minor: i64,
    /// Goods and freight, were it bought alone.
    pub(in crate::service) alone_minor: i64,
    /// The currency.
    pub(in crate::service) currency: String,
    /// Whether it comes before the start if it is ordered now.
    pub(super) in_time: bool,
    /// The day it comes if it is ordered now.
    pub(in crate::service) arrives: NaiveDate,
}

impl Bought {
    /// As the contract has it.
    pub(super) fn told(&self) -> NeedOrder {
        NeedOrder {
            supplier: self.from.clone(),
            packs: self.packs,
            pack_size: self.pack_size,
            pieces: self.pieces,
            cost_minor: self.goods_minor,
            currency: self.currency.clone(),
        }
    }
}

impl Market {
    /// Reads the offers of those parts.
    pub(in crate::service) async fn load(
        db: &impl ConnectionTrait,
        parts: &[i64],
        (site, view, start): (&sites::Model, View, NaiveDate),
    ) -> Result<Self, Error> {
        let offers = store::offers::of_parts(db, parts.iter().copied()).await?;
        let breaks = store::offers::breaks(db, offers.iter().map(|offer| offer.id)).await?;
        let zone = instant::site_zone(&site.zone);
        let orders = known::orders_to(db, view, site.id).await?;
        let ids = offers.iter().map(|offer| offer.supplier_id);
        let ids = ids.chain(orders.iter().map(|(order, _)| order.supplier_id));
        let rows = store::suppliers::get_many(db, ids).await?;
        let mut deliveries = Delivery::of(db, &rows, (view, zone)).await?;
        let sellers = rows.into_iter().filter_map(|row| {
            let delivery = deliveries.remove(&row.id)?;
            Some((row.id, Seller { row, delivery }))
        });
        let suppliers: HashMap<i64, Seller> = sellers.collect();
        let local = |micros: i64| {
            instant::from_micros(micros)
                .with_timezone(&zone)
                .naive_local()
        };
        let now = local(view.at.timestamp_micros());
        let mut coming = Vec::new();
        for (order, lines) in &orders {
            let Some(seller) = suppliers.get(&order.supplier_id) else {
                continue;
            };
            let placed = local(order.placed_at.unwrap_or(order.created_at));
            // What is overdue comes today at the earliest.
            let arrives = seller.delivery.arrival(placed, None).max(now.date());
            coming.extend(lines.iter().filter_map(|line| {
                Some(Coming {
                    part: line.part_id,
                    pieces: to_come_of(line)?,
                    arrives,
                })
            }));
        }
        let mut market = Self {
            offers: Vec::with_capacity(offers.len()),
            suppliers,
            coming,
            start,
        };
        for row in offers {
            market.sell(row, &breaks, now)?;
        }
        Ok(market)
    }

    /// Adds an offer as it stands at a local time.
    fn sell(
        &mut self,
        row: offers::Model,
        breaks: &[offer_breaks::Model],
        now: NaiveDateTime,
    ) -> Result<(), Error> {
        let Some(seller) = self.suppliers.get(&row.supplier_id) else {
            return Ok(());
        };
        let none_until = row.none_until.as_deref().map(suppliers::day).transpose()?;
        let arrives = seller.delivery.arrival(now, none_until);
        let own = breaks.iter().filter(|it| it.offer_id == row.id);
        self.offers.push(Selling {
            breaks: own.cloned().collect(),
            arrives,
            in_time: arrives < self.start,
            order_by: seller.delivery.order_by(self.start, none_until),
            row,
        });
        Ok(())
    }

    /// What is on order of a part.
    pub(super) fn on_order(&self, part: i64) -> OnOrder {
        let mut told = OnOrder::default();
        for coming in self.coming.iter().filter(|coming| coming.part == part) {
            if coming.arrives < self.start {
                told.in_time += coming.pieces;
            } else {
                told.late += coming.pieces;
                let first = told
                    .late_arrives
                    .map_or(coming.arrives, |first| first.min(coming.arrives));
                told.late_arrives = Some(first);
            }
        }
        told
    }

    /// The offers of a part, with who makes them.
    fn of_part(&self, part: i64) -> impl Iterator<Item = (&Selling, &Seller)> {
        let own = self.offers.iter().filter(move |it| it.row.part_id == part);
        own.filter_map(|it| Some((it, self.suppliers.get(&it.row.supplier_id)?)))
    }

    /// The fewest that can be bought of a part at a time.
    pub(super) fn smallest_pack(&self, part: i64) -> Option<i64> {
        self.of_part(part).map(|(it, _)| it.row.pack_size).min()
    }

    /// The pack of a part in which a piece costs least, freight and breaks left out; of several
    /// currencies the one of the oldest offer.
    pub(super) fn cheapest_piece(&self, part: i64) -> Option<PiecePrice> {
        let mut offers: Vec<PiecePrice> = self
            .of_part(part)
            .map(|(selling, seller)| PiecePrice {
                pack_minor: selling.row.price_minor,
                pack_size: selling.row.pack_size.max(1),
                currency: seller.row.currency.clone(),
            })
            .collect();
        let currency = offers.first()?.currency.clone();
        offers.retain(|price| price.currency == currency);
        let of_both = |one: &PiecePrice, other: &PiecePrice| {
            let (one, other) = (
                i128::from(one.pack_minor) * i128::from(other.pack_size),
                i128::from(other.pack_minor) * i128::from(one.pack_size),
            );
            one.cmp(&other)
        };
        offers.into_iter().min_by(of_both)
    }

    /// The first day on which any supplier that offers a part delivers it, if it is ordered now.
    pub(super) fn earliest(&self, part: i64) -> Option<NaiveDate> {
        self.of_part(part).map(|(it, _)| it.arrives).min()
    }

    /// When each supplier delivers a part, if it is ordered now, the first first; and the last time at
    /// which an order to any of them came in time.
    pub(super) fn arrivals(&self, part: i64) -> (Vec<EarliestArrival>, Option<NaiveDateTime>) {
        let mut arrivals: Vec<EarliestArrival> = Vec::new();
        for (selling, seller) in self.of_part(part) {
            let known = arrivals
                .iter_mut()
                .find(|it| it.supplier == seller.row.code);
            match known {
                Some(known) => known.arrives = known.arrives.min(selling.arrives),
                None => arrivals.push(EarliestArrival {
                    supplier: seller.row.code.clone(),
                    arrives: selling.arrives,
                }),
            }
        }
        arrivals.sort_by_key(|it| it.arrives);
        (arrivals, self.last_order(part).map(|last| last.at))
    }

    /// The last time at which an order of a part comes in time, and to whom; none if there is none.
    pub(super) fn last_order(&self, part: i64) -> Option<LastOrder> {
        let offers = self.of_part(part);
        let last = offers.filter_map(|(it, seller)| Some((it.order_by?, seller)));
        let (at, seller) = last.max_by_key(|(at, _)| *at)?;
        Some(LastOrder {
            supplier: seller.row.code.clone(),
            at,
        })
    }

    /// What packs of an offer come to.
    fn bought(&self, selling: &Selling, packs: i64) -> Option<Bought> {
        let seller = self.suppliers.get(&selling.row.supplier_id)?;
        let pieces = packs.checked_mul(selling.row.pack_size)?;
        let goods_minor = packs.checked_mul(selling.price_of(packs))?;
        let is_free = seller
            .row
            .free_over_minor
            .is_some_and(|over| goods_minor >= over);
        let freight = if is_free { 0 } else { seller.row.freight_minor };
        Some(Bought {
            offer: selling.row.id,
            supplier: seller.row.id,
            from: seller.row.code.clone(),
            packs,
            pack_size: selling.row.pack_size,
            pieces,
            goods_minor,
            alone_minor: goods_minor.checked_add(freight)?,
            currency: seller.row.currency.clone(),
            in_time: selling.in_time,
            arrives: selling.arrives,
        })
    }
}
