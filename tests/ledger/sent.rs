//! Whatever is sent under a key, so that it can be sent again under the same one.

use domain::ledger::MovementKind;
use server::service::ledger::{self, Answer};
use server::service::{self, Context, Error};
use types::{NewAnswer, NewArrival, NewLotHold, NewOrder, NewReversal};
use uuid::Uuid;

use crate::shop::{CALLER, LOTS, PARTS};
use crate::told::Told;

/// A request.
#[derive(Clone, Debug)]
pub(crate) enum Sent {
    /// An entry.
    Told(Told),
    /// An entry is taken back.
    Back(Uuid),
    /// What is left of a lot of a part is put on hold, or freed.
    Lot(MovementKind, usize, usize),
    /// An order is drafted.
    Order(NewOrder),
    /// Something came of an order.
    Arrival(String, NewArrival),
    /// A question is answered.
    Answer(i64, NewAnswer),
}

impl Sent {
    /// What it is, in a word, and whether it is of a lot.
    pub(crate) fn name(&self) -> String {
        let of = |name: &str, lot: Option<usize>| {
            let lot = if lot.is_some() { " of a lot" } else { "" };
            format!("{name}{lot}")
        };
        match self {
            Self::Told(Told::Use { label, done, .. }) => {
                of(done.map_or("use", |(what, _, _)| what), label.lot)
            }
            Self::Told(Told::Move(_, kind, _, label)) => of(kind, label.lot),
            Self::Told(Told::Receive(_, _, lot)) => of("receipt", *lot),
            Self::Told(Told::Count(..)) => "count".to_owned(),
            Self::Told(Told::Transfer(_, _, lot)) => of("transfer", *lot),
            Self::Told(Told::Promise(..)) => "promise".to_owned(),
            Self::Back(_) => "reversal".to_owned(),
            Self::Lot(kind, ..) => format!("{} of what is left", kind.as_str()),
            Self::Order(_) => "order".to_owned(),
            Self::Arrival(..) => "arrival".to_owned(),
            Self::Answer(_, answer) => format!("answer {}", answer.answer),
        }
    }

    /// Sends it.
    pub(crate) async fn send(&self, context: &Context, key: &str) -> Result<Answer, Error> {
        match self.clone() {
            Self::Told(told) => told.tell_in(context, key).await,
            Self::Back(entry) => {
                let reversal = NewReversal { entry, why: None };
                ledger::record_reversal(context, CALLER, key, reversal).await
            }
            Self::Lot(kind, part, lot) => {
                let new = NewLotHold {
                    part: Some(PARTS[part].to_owned()),
                    ..NewLotHold::default()
                };
                service::lots::hold(context, (CALLER, key), LOTS[lot], (kind, new)).await
            }
            Self::Order(new) => service::orders::create(context, CALLER, key, new).await,
            Self::Arrival(order, new) => {
                service::orders::receive(context, (CALLER, key), &order, new).await
            }
            Self::Answer(question, new) => {
                let question = question.to_string();
                service::questions::answer(context, (CALLER, key), &question, new).await
            }
        }
    }
}
