//! A history as it goes: the shop, the model beside it, and the steps that both take.

use std::collections::BTreeMap;

use domain::ledger::MovementKind;
use proptest::prelude::*;
use server::service::{self, Error, ledger::Answer};
use types::{ArrivedLine, ListMovements, LotHold, NewArrival, NewOrder, NewOrderLine, PlaceOrder};
use uuid::Uuid;

use crate::made_up::told;
use crate::model::Model;
use crate::sent::Sent;
use crate::shop::{LOTS, PARTS, SITES, SLOTS, SUPPLIER, Shop, at, entry};
use crate::told::{Place, Told};

/// One step of a history.
#[derive(Clone, Debug)]
pub(crate) enum Step {
    Tell(Told),
    TakeBack(usize),
    /// What is left of a lot of a part is put on hold, or freed.
    Lot(MovementKind, usize, usize),
    /// What was sent before is sent again under the same key.
    Repeat(usize),
    /// Something else is sent under a key that was used before.
    Reuse(usize),
    /// Part, site, packs of 5 and of 1.
    Draft(usize, usize, [i64; 2]),
    Place(usize),
    Cancel(usize),
    /// So many pieces, or all that are to come, in a slot.
    Arrive(usize, Option<i64>, i64),
    /// A count that differs is explained: by use, or else by a wrong booking.
    Explain(usize, bool),
    /// The lot of a use is named.
    NameLot(usize, usize),
}

/// Picks one of however many there are.
fn which() -> impl Strategy<Value = usize> {
    0..1_000_usize
}

pub(crate) fn step() -> impl Strategy<Value = Step> {
    let draft = (0..PARTS.len(), 0..SITES.len(), [1_i64..3, 1_i64..3]);
    let arrive = (which(), prop::option::weighted(0.7, 1_i64..9), 0..SLOTS);
    let kind = prop::sample::select(vec![MovementKind::Hold, MovementKind::Release]);
    let part = prop_oneof![4 => Just(0), 1 => 0..PARTS.len()];
    let lot = || prop_oneof![4 => Just(0), 1 => 0..LOTS.len()];
    prop_oneof![
        16 => told().prop_map(Step::Tell),
        5 => which().prop_map(Step::TakeBack),
        2 => (kind, part, lot()).prop_map(|(kind, part, lot)| Step::Lot(kind, part, lot)),
        1 => which().prop_map(Step::Repeat),
        1 => which().prop_map(Step::Reuse),
        1 => draft.prop_map(|(part, site, packs)| Step::Draft(part, site, packs)),
        1 => which().prop_map(Step::Place),
        1 => which().prop_map(Step::Cancel),
        2 => arrive.prop_map(|(order, pieces, slot)| Step::Arrive(order, pieces, slot)),
        4 => (which(), prop::bool::weighted(0.7)).prop_map(|(count, used)| Step::Explain(count, used)),
        3 => (which(), lot()).prop_map(|(entry, lot)| Step::NameLot(entry, lot)),
    ]
}

/// A history, and the ids that the shop gave.
pub(crate) struct History {
    pub(crate) shop: Shop,
    pub(crate) model: Model,
    pub(crate) entries: Vec<Uuid>,
    pub(crate) orders: Vec<String>,
    sent: Vec<(Sent, String, Answer)>,
    /// How often what was accepted, and what was refused.
    pub(crate) met: BTreeMap<(String, bool), usize>,
    steps: usize,
}

impl History {
    pub(crate) async fn begin() -> Self {
        Self {
            shop: Shop::open().await,
            model: Model::default(),
            entries: Vec::new(),
            orders: Vec::new(),
            sent: Vec::new(),
            met: BTreeMap::new(),
            steps: 0,
        }
    }

    /// An order is under way from the start, so that more of the steps have one to meet.
    pub(crate) async fn begin_with_order() -> Result<Self, TestCaseError> {
        let mut history = Self::begin().await;
        history.take(&Step::Draft(0, 0, [1, 2])).await?;
        history.take(&Step::Place(0)).await?;
        Ok(history)
    }

    /// The same with pieces of a lot on hand.
    pub(crate) async fn begin_with_lot() -> Result<Self, TestCaseError> {
        let mut history = Self::begin_with_order().await?;
        let place = Place {
            part: 0,
            site: 0,
            slot: 1,
        };
        let received = Step::Tell(Told::Receive(place, 8, Some(0)));
        history.take(&received).await?;
        Ok(history)
    }

    /// Takes a step in the shop and in the model, and checks that they agree whether it is accepted.
    pub(crate) async fn take(&mut self, step: &Step) -> Result<(), TestCaseError> {
        self.steps += 1;
        let key = format!("step-{}", self.steps);
        match *step {
            Step::Tell(ref told) => self.tell(told, &key).await,
            Step::TakeBack(which) => self.take_back(which, &key).await,
            Step::Lot(kind, part, lot) => self.hold_lot(kind, (part, lot), &key).await,
            Step::Repeat(_) | Step::Reuse(_) if self.sent.is_empty() => Ok(()),
            Step::Repeat(which) => self.repeat(which).await,
            Step::Reuse(which) => self.reuse(which).await,
            Step::Draft(part, site, packs) => self.draft((part, site), packs, &key).await,
            Step::Place(_) | Step::Cancel(_) | Step::Arrive(..) if self.orders.is_empty() => Ok(()),
            Step::Place(which) => {
                let order = which % self.orders.len();
                let placed = service::orders::place(
                    &self.shop.context,
                    &self.orders[order],
                    &PlaceOrder::default(),
                )
                .await;
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
                self.arrive(order, pieces, slot, &key).await
            }
            Step::Explain(which, used) => self.explain(which, used, &key).await,
            Step::NameLot(which, lot) => self.name_lot(which, lot, &key).await,
        }
    }

    pub(crate) async fn send(&mut self, sent: Sent, key: &str) -> Result<Answer, Error> {
        let answer = sent.send(&self.shop.context, key).await;
        *self.met.entry((sent.name(), answer.is_ok())).or_default() += 1;
        if let Ok(answer) = &answer {
            self.sent.push((sent, key.to_owned(), answer.clone()));
        }
        answer
    }

    pub(crate) async fn tell(&mut self, told: &Told, key: &str) -> Result<(), TestCaseError> {
        let answer = self.send(Sent::Told(told.clone()), key).await;
        agree(self.model.accepts(told), &answer)?;
        if let Ok(answer) = answer {
            self.model.tell(told.clone());
            self.entries.push(entry(&answer));
        }
        Ok(())
    }

    async fn take_back(&mut self, which: usize, key: &str) -> Result<(), TestCaseError> {
        if self.entries.is_empty() {
            return Ok(());
        }
        // One of the last few, where most mistakes are noticed.
        let few = self.entries.len().min(6);
        let index = self.entries.len() - 1 - which % few;
        let answer = self.send(Sent::Back(self.entries[index]), key).await;
        agree(self.model.accepts_back(index), &answer)?;
        if let Ok(answer) = answer {
            self.model.take_back(index);
            // What takes back is not taken back itself.
            let again = Sent::Back(entry(&answer));
            let again = again.send(&self.shop.context, &format!("{key}-back")).await;
            agree(false, &again)?;
        }
        Ok(())
    }

    async fn hold_lot(
        &mut self,
        kind: MovementKind,
        (part, lot): (usize, usize),
        key: &str,
    ) -> Result<(), TestCaseError> {
        let answer = self.send(Sent::Lot(kind, part, lot), key).await;
        let expected = self.model.lot_moves(part, lot, kind.as_str());
        let refused = matches!(answer, Err(Error::NotFound { .. }));
        prop_assert_eq!(refused, !self.model.has_heard_of(part, lot));
        if refused {
            return Ok(());
        }
        agree(expected.is_some(), &answer)?;
        if let (Some(expected), Ok(answer)) = (expected, answer) {
            let held: LotHold = serde_json::from_str(&answer.body).expect("an answer in JSON");
            prop_assert_eq!(held.entries.len(), expected.len(), "{:?}", expected);
            for told in expected {
                self.model.tell(told);
            }
            self.entries.extend(held.entries);
        }
        Ok(())
    }

    async fn repeat(&mut self, which: usize) -> Result<(), TestCaseError> {
        let (sent, key, first) = &self.sent[which % self.sent.len()];
        let again = sent.send(&self.shop.context, key).await;
        let again = again.map_err(|error| TestCaseError::fail(error.to_string()))?;
        prop_assert_eq!((again.status, &again.body), (first.status, &first.body));
        prop_assert!(again.repeated && !first.repeated);
        Ok(())
    }

    async fn reuse(&mut self, which: usize) -> Result<(), TestCaseError> {
        let (_, key, _) = &self.sent[which % self.sent.len()];
        let place = Place {
            part: 0,
            site: 0,
            slot: 0,
        };
        // So many are never counted otherwise.
        let other = Told::Count(place, 999).tell(&self.shop, key).await;
        prop_assert!(matches!(other, Err(Error::KeyReused(_))), "{other:?}");
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
            site: Some(SITES[site].to_owned()),
            lines: vec![line(5, packs[0]), line(1, packs[1])],
            ..NewOrder::default()
        };
        let answer = self.send(Sent::Order(new), key).await;
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
        let sent = Sent::Arrival(self.orders[order].clone(), arrival);
        let came = self.send(sent, key).await;
        let entry = self.model.arrive(order, pieces, slot);
        agree(entry.is_some(), &came)?;
        if came.is_ok() {
            let newest = ListMovements {
                limit: Some(1),
                ..ListMovements::default()
            };
            let page = service::ledger::list_movements(&self.shop.context, &newest).await;
            let page = page.map_err(|error| TestCaseError::fail(error.to_string()))?;
            self.entries.push(page.movements[0].entry);
        }
        Ok(())
    }
}

/// The shop must accept what the model accepts, and nothing else; and it may refuse, not fail.
pub(crate) fn agree<T: std::fmt::Debug>(
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
