//! Any history, with orders, holds and entries taken back: what is kept is what the model says, what
//! a rebuild finds, and what the explanation adds up to; what must be refused is refused.

use proptest::prelude::*;
use server::service::{self, Error, ledger::Answer, rebuild::Rebuilt};
use types::{ArrivedLine, GetStock, ListMovements, NewArrival, NewOrder, NewOrderLine, NewReceipt};
use uuid::Uuid;

use crate::model::Model;
use crate::shop::{CALLER, PARTS, SITES, SLOTS, SUPPLIER, Shop, at, cases, entry, run};
use crate::told::{Told, take_back, told};

/// One step of a history.
#[derive(Clone, Debug)]
pub(crate) enum Step {
    Tell(Told),
    TakeBack(usize),
    /// Part, site, packs of 5 and of 1.
    Draft(usize, usize, [i64; 2]),
    Place(usize),
    Cancel(usize),
    /// So many pieces, or all that are to come, in a slot.
    Arrive(usize, Option<i64>, i64),
}

/// Picks one of however many there are.
fn which() -> impl Strategy<Value = usize> {
    0..1_000_usize
}

pub(crate) fn step() -> impl Strategy<Value = Step> {
    let draft = (0..PARTS.len(), 0..SITES.len(), [1_i64..3, 1_i64..3]);
    let arrive = (which(), prop::option::weighted(0.7, 1_i64..9), 0..SLOTS);
    prop_oneof![
        5 => told().prop_map(Step::Tell),
        3 => which().prop_map(Step::TakeBack),
        1 => draft.prop_map(|(part, site, packs)| Step::Draft(part, site, packs)),
        2 => which().prop_map(Step::Place),
        2 => which().prop_map(Step::Cancel),
        3 => arrive.prop_map(|(order, pieces, slot)| Step::Arrive(order, pieces, slot)),
    ]
}

/// A history as it goes: the shop, the model beside it, and the ids that the shop gave.
pub(crate) struct History {
    pub(crate) shop: Shop,
    pub(crate) model: Model,
    pub(crate) entries: Vec<Uuid>,
    orders: Vec<String>,
    steps: usize,
}

impl History {
    async fn begin() -> Self {
        Self {
            shop: Shop::open().await,
            model: Model::default(),
            entries: Vec::new(),
            orders: Vec::new(),
            steps: 0,
        }
    }

    /// An order is under way from the start, so that more of the steps have one to meet.
    pub(crate) async fn begin_with_order() -> Result<Self, TestCaseError> {
        let mut history = Self::begin().await;
        history.take(&Step::Draft(0, 0, [1, 2])).await?;
        let number = history.orders[0].clone();
        let placed = service::orders::place(&history.shop.context, &number).await;
        agree(history.model.place(0), &placed)?;
        Ok(history)
    }

    /// Takes a step in the shop and in the model, and checks that they agree whether it is accepted.
    pub(crate) async fn take(&mut self, step: &Step) -> Result<(), TestCaseError> {
        self.steps += 1;
        let key = format!("step-{}", self.steps);
        match step {
            Step::Tell(told) => self.tell(told, &key).await,
            Step::TakeBack(which) => self.take_back(which, &key).await,
            Step::Draft(part, site, packs) => self.draft((*part, *site), *packs, &key).await,
            Step::Place(_) | Step::Cancel(_) | Step::Arrive(..) if self.orders.is_empty() => Ok(()),
            Step::Place(which) => {
                let order = which % self.orders.len();
                let placed = service::orders::place(&self.shop.context, &self.orders[order]).await;
                agree(self.model.place(order), &placed)
            }
            Step::Cancel(which) => {
                let order = which % self.orders.len();
                let cancelled =
                    service::orders::cancel(&self.shop.context, &self.orders[order]).await;
                agree(self.model.cancel(order), &cancelled)
            }
            Step::Arrive(which, pieces, slot) => {
                let order = which % self.orders.len();
                self.arrive(order, *pieces, *slot, &key).await
            }
        }
    }

    pub(crate) async fn tell(&mut self, told: &Told, key: &str) -> Result<(), TestCaseError> {
        let answer = told.tell(&self.shop, key).await;
        agree(self.model.accepts(told), &answer)?;
        if let Ok(answer) = answer {
            self.model.tell(told.clone());
            self.entries.push(entry(&answer));
        }
        Ok(())
    }

    async fn take_back(&mut self, which: &usize, key: &str) -> Result<(), TestCaseError> {
        if self.entries.is_empty() {
            return Ok(());
        }
        // One of the last few, where most mistakes are noticed.
        let few = self.entries.len().min(6);
        let index = self.entries.len() - 1 - which % few;
        let answer = take_back(&self.shop, self.entries[index], key).await;
        agree(self.model.accepts_back(index), &answer)?;
        if answer.is_ok() {
            self.model.take_back(index);
        }
        Ok(())
    }

    async fn draft(
        &mut self,
        (part, site): (usize, usize),
        packs: [i64; 2],
        key: &str,
    ) -> Result<(), TestCaseError> {
        let line = |pack_size, packs| NewOrderLine {
            part: PARTS[part].to_owned(),
            pack_size,
            packs,
        };
        let new = NewOrder {
            supplier: SUPPLIER.to_owned(),
            job: None,
            site: Some(SITES[site].to_owned()),
            lines: vec![line(5, packs[0]), line(1, packs[1])],
        };
        let answer = service::orders::create(&self.shop.context, CALLER, key, new).await;
        let answer = answer.map_err(|error| TestCaseError::fail(error.to_string()))?;
        self.orders.push(number(&answer));
        self.model.draft(part, site, 5 * packs[0] + packs[1]);
        Ok(())
    }

    async fn arrive(
        &mut self,
        order: usize,
        pieces: Option<i64>,
        slot: i64,
        key: &str,
    ) -> Result<(), TestCaseError> {
        let part = PARTS[self.model.part_of(order)].to_owned();
        let lines = pieces.map(|quantity| ArrivedLine { part, quantity });
        let arrival = NewArrival {
            lines: lines.into_iter().collect(),
            at: Some(at(slot)),
            by: None,
        };
        let context = &self.shop.context;
        let came =
            service::orders::receive(context, (CALLER, key), &self.orders[order], arrival).await;
        let entry = self.model.arrive(order, pieces, slot);
        agree(entry.is_some(), &came)?;
        if came.is_ok() {
            let newest = ListMovements {
                limit: Some(1),
                ..ListMovements::default()
            };
            let page = service::ledger::list_movements(context, &newest).await;
            let page = page.map_err(|error| TestCaseError::fail(error.to_string()))?;
            self.entries.push(page.movements[0].entry);
        }
        Ok(())
    }

    async fn check_orders(&self) -> Result<(), TestCaseError> {
        for (index, number) in self.orders.iter().enumerate() {
            let order = service::orders::get(&self.shop.context, number).await;
            let order = order.map_err(|error| TestCaseError::fail(error.to_string()))?;
            prop_assert_eq!(order.state, self.model.state(index), "order {}", number);
            let came: i64 = order.lines.iter().map(|line| line.received).sum();
            let pieces: i64 = order.lines.iter().map(|line| line.pieces).sum();
            // What came beyond the order fills no line.
            prop_assert_eq!(came, self.model.came(index).min(pieces), "order {}", number);
        }
        Ok(())
    }

    async fn check_explanations(&self) -> Result<(), TestCaseError> {
        for part in PARTS {
            for site in SITES {
                let query = GetStock {
                    site: Some(site.to_owned()),
                    ..GetStock::default()
                };
                let told = service::stock::explain(&self.shop.context, part, &query).await;
                let told = told.map_err(|error| TestCaseError::fail(error.to_string()))?;
                let moved: i64 = told.moved.iter().map(|moved| moved.quantity).sum();
                prop_assert_eq!(told.counted.unwrap_or(0) + moved, told.stock.on_hand);
                let level = self.model.levels();
                let level = level.get(&(part.to_owned(), site.to_owned()));
                prop_assert_eq!(told.stock.on_hand, level.map_or(0, |level| level.0));
            }
        }
        Ok(())
    }
}

/// The shop must accept what the model accepts, and nothing else; and it may refuse, not fail.
fn agree<T: std::fmt::Debug>(
    accepted: bool,
    answer: &Result<T, Error>,
) -> Result<(), TestCaseError> {
    prop_assert_eq!(accepted, answer.is_ok(), "{:?}", answer);
    if let Err(error) = answer {
        let refused = matches!(error, Error::Invalid(_) | Error::WrongState(_));
        prop_assert!(refused, "{error:?}");
    }
    Ok(())
}

fn number(answer: &Answer) -> String {
    let body: serde_json::Value = serde_json::from_str(&answer.body).expect("an answer in JSON");
    body["number"].as_i64().expect("a number").to_string()
}

proptest! {
    #![proptest_config(cases(96))]

    #[test]
    fn levels_and_wear_are_what_the_model_says_and_a_rebuild_finds(
        steps in prop::collection::vec(step(), 1..32),
    ) {
        run(async {
            let mut history = History::begin_with_order().await?;
            for step in &steps {
                history.take(step).await?;
            }
            let History { shop, model, .. } = &history;
            prop_assert_eq!(shop.levels().await, model.levels());
            prop_assert_eq!(shop.wear().await, model.wear());
            history.check_orders().await?;
            history.check_explanations().await?;
            let Rebuilt { levels_wrong, wear_wrong, .. } = shop.rebuild().await;
            prop_assert_eq!((levels_wrong, wear_wrong), (0, 0));
            prop_assert_eq!(shop.levels().await, model.levels());
            prop_assert_eq!(shop.wear().await, model.wear());
            Ok(())
        })?;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_rebuild_puts_right_what_was_kept_wrongly() {
    let mut history = History::begin().await;
    let place = crate::told::Place {
        part: 0,
        site: 0,
        slot: 3,
    };
    for told in [
        Told::Receive(place, 10),
        Told::Use {
            torch: 0,
            slot: 4,
            group: 0,
            worn: [75, 3, 0, 9],
            done: Some(("took", 0, 2)),
        },
    ] {
        history
            .tell(&told, &format!("{told:?}").replace(' ', ""))
            .await
            .expect("an entry");
    }
    let (levels, wear) = (history.shop.levels().await, history.shop.wear().await);
    spoil(&history.shop).await;
    assert_ne!(history.shop.levels().await, levels);
    assert_ne!(history.shop.wear().await, wear);
    let rebuilt = history.shop.rebuild().await;
    // The level and both sums that follow from the ledger, and a level that follows from nothing.
    assert_eq!((rebuilt.levels_wrong, rebuilt.wear_wrong), (2, 2));
    assert_eq!(history.shop.levels().await, levels);
    assert_eq!(history.shop.wear().await, wear);
    let again = history.shop.rebuild().await;
    assert_eq!((again.levels_wrong, again.wear_wrong), (0, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cancelled_order_stays_cancelled_when_what_came_is_taken_back() {
    let mut history = History::begin_with_order().await.expect("an order");
    let first = 0;
    for step in [
        Step::Arrive(first, Some(3), 1),
        Step::Cancel(first),
        Step::TakeBack(first),
    ] {
        history.take(&step).await.expect("a step that agrees");
    }
    history.check_orders().await.expect("it is cancelled");
    assert!(history.shop.levels().await.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn goods_for_an_order_may_come_in_at_another_site() {
    let history = History::begin_with_order().await.expect("an order");
    let context = &history.shop.context;
    let key = |site: usize| (PARTS[0].to_owned(), SITES[site].to_owned());
    // Two are in the drawer of the site that ordered 7.
    let place = crate::told::Place {
        part: 0,
        site: 0,
        slot: 1,
    };
    let there = Told::Receive(place, 2).tell(&history.shop, "K1").await;
    there.expect("a receipt");
    let receipt = NewReceipt {
        part: PARTS[0].to_owned(),
        quantity: 3,
        order: history.orders[0].parse().ok(),
        site: Some(SITES[1].to_owned()),
        ..NewReceipt::default()
    };
    let came = service::ledger::record_receipt(context, CALLER, "K2", receipt).await;
    came.expect("a receipt for the order");
    let levels = history.shop.levels().await;
    assert_eq!(levels[&key(0)], (2, 0, 4, None));
    assert_eq!(levels[&key(1)], (3, 0, 0, None));
    assert_eq!(history.shop.rebuild().await.levels_wrong, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_hold_is_not_taken_back_once_its_pieces_are_released() {
    let mut history = History::begin().await;
    let place = crate::told::Place {
        part: 0,
        site: 0,
        slot: 3,
    };
    for (key, kind) in [("K1", "hold"), ("K2", "release")] {
        let told = Told::Move(place, kind, 4, 0);
        history.tell(&told, key).await.expect("it is accepted");
    }
    let back = take_back(&history.shop, history.entries[0], "K3").await;
    assert!(matches!(back, Err(Error::WrongState(_))), "{back:?}");
    // The release first, then the hold.
    for (entry, key) in [(1, "K4"), (0, "K5")] {
        let back = take_back(&history.shop, history.entries[entry], key).await;
        back.expect("it is taken back");
    }
    assert!(history.shop.levels().await.is_empty());
}

/// Changes what is kept behind the back of the service.
async fn spoil(shop: &Shop) {
    use sea_orm::ConnectionTrait;
    let spoilt = shop.context.writer.write(|tx| {
        Box::pin(async move {
            let statements = "UPDATE levels SET on_hand = on_hand + 1; \
                 INSERT INTO levels (part_id, site_id, on_hand, on_hold, on_order) \
                 SELECT parts.id, sites.id, 0, 0, 7 FROM parts, sites \
                 WHERE parts.code = 'gas-lens-2.4' AND sites.code = 'yard'; \
                 UPDATE wear SET arc_seconds = arc_seconds + 60;";
            let done = tx.execute_unprepared(statements).await;
            done.map(|_| ())
                .map_err(|error| Error::Internal(error.to_string()))
        })
    });
    spoilt.await.expect("it is spoilt");
}
