//! What is bought, one order a supplier.

use types::{ProposedLine, ProposedOrder};

use super::{Bought, Market};
use crate::service::needs::Weighed;

impl Market {
    /// What is bought, one order a supplier.
    pub(in crate::service::needs) fn orders(&self, weighed: &[Weighed]) -> Vec<ProposedOrder> {
        let mut orders: Vec<(i64, ProposedOrder)> = Vec::new();
        for part in weighed {
            for bought in &part.bought {
                let place = orders
                    .iter()
                    .position(|(supplier, order)| {
                        *supplier == bought.supplier && order.in_time == bought.in_time
                    })
                    .or_else(|| {
                        orders.push((bought.supplier, self.empty(bought)?));
                        Some(orders.len() - 1)
                    });
                if let Some(place) = place {
                    self.add(&mut orders[place].1, (&part.part.code, bought));
                }
            }
        }
        let mut orders: Vec<ProposedOrder> = orders.into_iter().map(|(_, order)| order).collect();
        for order in &mut orders {
            self.charge(order);
        }
        orders
    }

    fn empty(&self, bought: &Bought) -> Option<ProposedOrder> {
        let seller = self.suppliers.get(&bought.supplier)?;
        let selling = self.offers.iter().find(|it| it.row.id == bought.offer)?;
        let planned = seller.delivery.order_by(self.start, None)?;
        Some(ProposedOrder {
            supplier: seller.row.code.clone(),
            parts: Vec::new(),
            lines: Vec::new(),
            goods_minor: 0,
            freight_minor: 0,
            cost_minor: 0,
            currency: seller.row.currency.clone(),
            order_by: selling.order_by.unwrap_or(planned),
            arrives: selling.arrives,
            in_time: bought.in_time,
            lead_time_days: i64::from(seller.delivery.lead.planned()),
            lead_time_says: seller.delivery.says(&seller.row.code),
        })
    }

    fn add(&self, order: &mut ProposedOrder, (part, bought): (&str, &Bought)) {
        if !order.parts.iter().any(|known| known == part) {
            order.parts.push(part.to_owned());
        }
        order.goods_minor += bought.goods_minor;
        let selling = self.offers.iter().find(|it| it.row.id == bought.offer);
        // All of it is here when the last of it is.
        order.arrives = selling.map_or(order.arrives, |it| it.arrives.max(order.arrives));
        order.lines.push(ProposedLine {
            part: part.to_owned(),
            packs: bought.packs,
            pack_size: bought.pack_size,
            pieces: bought.pieces,
            cost_minor: bought.goods_minor,
        });
    }

    /// Adds the freight, if there is any for goods of that value.
    fn charge(&self, order: &mut ProposedOrder) {
        let seller = self
            .suppliers
            .values()
            .find(|it| it.row.code == order.supplier);
        if let Some(seller) = seller {
            let free = seller
                .row
                .free_over_minor
                .is_some_and(|over| order.goods_minor >= over);
            order.freight_minor = if free { 0 } else { seller.row.freight_minor };
        }
        order.cost_minor = order.goods_minor + order.freight_minor;
    }
}

/// The cost of all orders, if it is in one currency.
pub(in crate::service::needs) fn total(orders: &[ProposedOrder]) -> (Option<i64>, Option<String>) {
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
