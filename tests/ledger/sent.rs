//! Whatever is sent under a key, so that it can be sent again under the same one.

use domain::ledger::MovementKind;
use server::service::ledger::{self, Answer};
use server::service::{self, Context, Error};
use types::{NewArrival, NewLotHold, NewOrder, NewReversal};
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
}

impl Sent {
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
        }
    }
}
