//! What must be true at the end of a history: everything that can be asked is what the model says.

use std::collections::BTreeMap;

use proptest::prelude::*;
use server::service::{self, Error, rebuild::Rebuilt};
use types::{GetStock, GetTrace, ListAllocations};

use crate::history::History;
use crate::model::Traced;
use crate::shop::{LOTS, PARTS, SITES};

fn told<T>(answer: Result<T, Error>) -> Result<T, TestCaseError> {
    answer.map_err(|error| TestCaseError::fail(error.to_string()))
}

impl History {
    /// Checks all of it, before and after a rebuild.
    pub(crate) async fn check(&self) -> Result<(), TestCaseError> {
        let Self { shop, model, .. } = self;
        prop_assert_eq!(shop.levels().await, model.levels());
        prop_assert_eq!(shop.wear().await, model.wear());
        self.check_orders().await?;
        self.check_explanations().await?;
        self.check_traces().await?;
        self.check_promises().await?;
        self.check_missing_lots().await?;
        self.check_variances().await?;
        self.check_parcels().await?;
        let Rebuilt {
            levels_wrong,
            wear_wrong,
            ..
        } = shop.rebuild().await;
        prop_assert_eq!((levels_wrong, wear_wrong), (0, 0));
        prop_assert_eq!(shop.levels().await, model.levels());
        prop_assert_eq!(shop.wear().await, model.wear());
        Ok(())
    }

    pub(crate) async fn check_orders(&self) -> Result<(), TestCaseError> {
        for (index, number) in self.orders.iter().enumerate() {
            let order = told(service::orders::get(&self.shop.context, number).await)?;
            prop_assert_eq!(order.state, self.model.state(index), "order {}", number);
            let came: i64 = order.lines.iter().map(|line| line.received).sum();
            let pieces: i64 = order.lines.iter().map(|line| line.pieces).sum();
            // What came beyond the order fills no line.
            prop_assert_eq!(came, self.model.came(index).min(pieces), "order {}", number);
        }
        Ok(())
    }

    async fn check_explanations(&self) -> Result<(), TestCaseError> {
        let levels = self.model.levels();
        for part in PARTS {
            for site in SITES {
                let query = GetStock {
                    site: Some(site.to_owned()),
                    ..GetStock::default()
                };
                let told = told(service::stock::explain(&self.shop.context, part, &query).await)?;
                let moved: i64 = told.moved.iter().map(|moved| moved.quantity).sum();
                prop_assert_eq!(told.counted.unwrap_or(0) + moved, told.stock.on_hand);
                let level = levels.get(&(part.to_owned(), site.to_owned()));
                let level = level.copied().unwrap_or_default();
                let free = level.on_hand - level.allocated - level.on_hold;
                let stock = told.stock;
                prop_assert_eq!(
                    [stock.on_hand, stock.on_hold, stock.allocated],
                    [level.on_hand, level.on_hold, level.allocated]
                );
                prop_assert_eq!(
                    [stock.available, stock.on_order, stock.position],
                    [free.max(0), level.on_order, free + level.on_order]
                );
            }
        }
        Ok(())
    }

    /// Each lot: what came in is what went out, what is left, and what is told to be missing.
    async fn check_traces(&self) -> Result<(), TestCaseError> {
        for (part, code) in PARTS.into_iter().enumerate() {
            for (lot, name) in LOTS.into_iter().enumerate() {
                if !self.model.has_heard_of(part, lot) {
                    continue;
                }
                let query = GetTrace {
                    part: Some(code.to_owned()),
                };
                let trace = told(service::lots::trace(&self.shop.context, name, &query).await)?;
                let sum: i64 = trace.lines.iter().map(|line| line.quantity).sum();
                prop_assert_eq!(sum + trace.gap, trace.received);
                let lines = trace.lines.into_iter();
                let lines = lines.map(|line| ((line.what, line.place, line.site), line.quantity));
                let traced = Traced {
                    received: trace.received,
                    on_hold: trace.on_hold,
                    gap: trace.gap,
                    lines: lines.collect(),
                };
                prop_assert_eq!(traced, self.model.trace(part, lot), "{} of {}", name, code);
            }
        }
        Ok(())
    }

    async fn check_promises(&self) -> Result<(), TestCaseError> {
        let all = ListAllocations::default();
        let page = told(service::allocations::list(&self.shop.context, &all).await)?;
        let mut at_site: BTreeMap<(String, String), i64> = BTreeMap::new();
        let mut promises = BTreeMap::new();
        for one in page.allocations {
            let place = (one.part.clone(), one.site.clone());
            *at_site.entry(place).or_default() += one.quantity;
            promises.insert((one.job, one.part, one.site), one.quantity);
        }
        prop_assert_eq!(promises, self.model.promises());
        for (place, level) in self.shop.levels().await {
            let sum = at_site.get(&place).copied().unwrap_or_default();
            prop_assert_eq!(sum, level.allocated, "{:?}", place);
        }
        Ok(())
    }
}
