//! Who sells what a job is short of: for each part the cheapest whole packs, taken alone, among
//! those that come in time. Weighing all parts and suppliers against each other is another matter.

use std::collections::HashMap;

use chrono::{NaiveDate, NaiveDateTime};
use domain::calendar::OpenDays;
use domain::pack::{PackChoice, PackOffer, cheapest};
use sea_orm::ConnectionTrait;
use types::{NeedOrder, ProposedOrder};

use super::Weighed;
use crate::service::known::{self, View};
use crate::service::orders::to_come_of;
use crate::service::{Error, instant, suppliers};
use crate::store;
use crate::store::entity::{offers, parts, sites, suppliers as rows};

/// Offers and suppliers for a job, and when each would deliver.
pub(super) struct Market {
    offers: Vec<offers::Model>,
    suppliers: HashMap<i64, Seller>,
    coming: Vec<Coming>,
    start: NaiveDate,
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

struct Seller {
    row: rows::Model,
    arrives: NaiveDate,
    order_by: NaiveDateTime,
    in_time: bool,
}

/// Packs of one part from one supplier.
#[derive(Clone, Debug)]
pub(super) struct Bought {
    supplier: i64,
    /// The code of the supplier.
    pub(super) from: String,
    /// How many packs.
    pub(super) packs: i64,
    /// How many one pack holds.
    pub(super) pack_size: i64,
    /// Packs times pack size.
    pub(super) pieces: i64,
    /// The goods alone.
    pub(super) goods_minor: i64,
    /// Goods and freight, were it bought alone.
    pub(super) alone_minor: i64,
    /// The currency.
    pub(super) currency: String,
    /// Whether it comes before the start if it is ordered now.
    pub(super) in_time: bool,
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
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        parts: &[parts::Model],
        (site, view, start): (&sites::Model, View, NaiveDate),
    ) -> Result<Self, Error> {
        let offers = store::offers::of_parts(db, parts.iter().map(|part| part.id)).await?;
        let zone = instant::site_zone(&site.zone);
        let orders = known::orders_to(db, view, site.id).await?;
        let ids = offers.iter().map(|offer| offer.supplier_id);
        let ids = ids.chain(orders.iter().map(|(order, _)| order.supplier_id));
        let suppliers = store::suppliers::get_many(db, ids).await?;
        let local = view.at.with_timezone(&zone).naive_local();
        let suppliers: HashMap<i64, Seller> = suppliers
            .into_iter()
            .map(|row| (row.id, Seller::at(row, local, start)))
            .collect();
        let mut coming = Vec::new();
        for (order, lines) in &orders {
            let Some(seller) = suppliers.get(&order.supplier_id) else {
                continue;
            };
            let placed = instant::from_micros(order.placed_at.unwrap_or(order.created_at));
            let placed = placed.with_timezone(&zone).naive_local();
            // What is overdue comes today at the earliest.
            let arrives = seller.arrival(placed).max(local.date());
            let lines = lines.iter().filter_map(|line| {
                let pieces = to_come_of(line)?;
                let part = line.part_id;
                Some(Coming {
                    part,
                    pieces,
                    arrives,
                })
            });
            coming.extend(lines);
        }
        Ok(Self {
            offers,
            suppliers,
            coming,
            start,
        })
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

    /// The cheapest packs that cover what is short, and the cheapest from another offer.
    pub(super) fn buy(&self, part: i64, short: i64) -> (Option<Bought>, Option<Bought>) {
        let mut offers = self.comparable(part);
        let Some(best) = Self::choose(&offers, short) else {
            return (None, None);
        };
        let (index, bought) = best;
        offers.remove(index);
        (
            Some(bought),
            Self::choose(&offers, short).map(|(_, bought)| bought),
        )
    }

    /// The pack of a part in which a piece costs least, freight left out; of several currencies the
    /// one of the oldest offer.
    pub(super) fn cheapest_piece(&self, part: i64) -> Option<PiecePrice> {
        let offers = self.offers.iter().filter(|offer| offer.part_id == part);
        let offers = offers.filter_map(|offer| {
            let currency = self.suppliers.get(&offer.supplier_id)?.row.currency.clone();
            Some(PiecePrice {
                pack_minor: offer.price_minor,
                pack_size: offer.pack_size.max(1),
                currency,
            })
        });
        let mut offers: Vec<PiecePrice> = offers.collect();
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

    /// The smallest pack of a part that anybody offers.
    pub(super) fn smallest_pack(&self, part: i64) -> Option<i64> {
        let offers = self.offers.iter().filter(|offer| offer.part_id == part);
        offers.map(|offer| offer.pack_size).min()
    }

    /// The first day on which any supplier that offers a part delivers it, if it is ordered now.
    pub(super) fn earliest(&self, part: i64) -> Option<NaiveDate> {
        let offers = self.offers.iter().filter(|offer| offer.part_id == part);
        let sellers = offers.filter_map(|offer| self.suppliers.get(&offer.supplier_id));
        sellers.map(|seller| seller.arrives).min()
    }

    /// The offers to choose from: those that come in time if there are any, and only in one
    /// currency, that of the oldest of them, since prices in two cannot be compared.
    fn comparable(&self, part: i64) -> Vec<(&offers::Model, &Seller)> {
        let all = self.offers.iter().filter(|offer| offer.part_id == part);
        let mut all: Vec<_> = all
            .filter_map(|offer| Some((offer, self.suppliers.get(&offer.supplier_id)?)))
            .collect();
        if all.iter().any(|(_, seller)| seller.in_time) {
            all.retain(|(_, seller)| seller.in_time);
        }
        if let Some((_, first)) = all.first() {
            let currency = first.row.currency.clone();
            all.retain(|(_, seller)| seller.row.currency == currency);
        }
        all
    }

    fn choose(offers: &[(&offers::Model, &Seller)], short: i64) -> Option<(usize, Bought)> {
        let packs: Vec<PackOffer> = offers
            .iter()
            .map(|(offer, seller)| PackOffer {
                pack_size: offer.pack_size,
                price_minor: offer.price_minor,
                freight_minor: seller.row.freight_minor,
            })
            .collect();
        let PackChoice {
            index,
            packs,
            pieces,
            cost_minor,
            goods_minor,
        } = cheapest(short, &packs)?;
        let (offer, seller) = offers[index];
        let bought = Bought {
            supplier: seller.row.id,
            from: seller.row.code.clone(),
            packs,
            pack_size: offer.pack_size,
            pieces,
            goods_minor,
            alone_minor: cost_minor,
            currency: seller.row.currency.clone(),
            in_time: seller.in_time,
        };
        Some((index, bought))
    }

    /// What is bought, one order a supplier.
    pub(super) fn orders(&self, weighed: &[Weighed]) -> Vec<ProposedOrder> {
        let mut orders: Vec<(i64, ProposedOrder)> = Vec::new();
        for part in weighed {
            let Some(bought) = &part.bought else { continue };
            let Some(seller) = self.suppliers.get(&bought.supplier) else {
                continue;
            };
            let place = orders
                .iter()
                .position(|(supplier, _)| *supplier == bought.supplier);
            let place = place.unwrap_or_else(|| {
                orders.push((bought.supplier, seller.empty_order()));
                orders.len() - 1
            });
            let order = &mut orders[place].1;
            order.parts.push(part.part.code.clone());
            order.goods_minor += bought.goods_minor;
            order.cost_minor += bought.goods_minor;
        }
        orders.into_iter().map(|(_, order)| order).collect()
    }
}

impl Seller {
    /// When what is ordered at a local time arrives.
    fn arrival(&self, ordered: NaiveDateTime) -> NaiveDate {
        let lead = u32::try_from(self.row.lead_time_days).unwrap_or_default();
        OpenDays::weekdays().arrival(ordered, suppliers::cut_off(&self.row), lead)
    }

    fn at(row: rows::Model, now: NaiveDateTime, start: NaiveDate) -> Self {
        let cut_off = suppliers::cut_off(&row);
        let lead = u32::try_from(row.lead_time_days).unwrap_or_default();
        let days = OpenDays::weekdays();
        let arrives = days.arrival(now, cut_off, lead);
        let order_by = days.order_by(start, cut_off, lead);
        Self {
            row,
            arrives,
            order_by,
            in_time: arrives < start,
        }
    }

    fn empty_order(&self) -> ProposedOrder {
        ProposedOrder {
            supplier: self.row.code.clone(),
            parts: Vec::new(),
            goods_minor: 0,
            freight_minor: self.row.freight_minor,
            cost_minor: self.row.freight_minor,
            currency: self.row.currency.clone(),
            order_by: self.order_by,
            arrives: self.arrives,
            in_time: self.in_time,
        }
    }
}

/// The cost of all orders, if it is in one currency.
pub(super) fn total(orders: &[ProposedOrder]) -> (Option<i64>, Option<String>) {
    let Some(first) = orders.first() else {
        return (Some(0), None);
    };
    if orders.iter().any(|order| order.currency != first.currency) {
        return (None, None);
    }
    (
        Some(orders.iter().map(|order| order.cost_minor).sum()),
        Some(first.currency.clone()),
    )
}
