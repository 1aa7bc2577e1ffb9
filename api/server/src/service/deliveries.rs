//! Deliveries: which event goes to which receiver now, and what came of it. Taking one into hand and
//! noting its end are two short transactions; the sending in between, in `channels`, is in none. Whoever
//! dies in between leaves it in hand for a minute, after which it is sent again under the same id.

use std::collections::hash_map::{Entry, HashMap};
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, DatabaseTransaction};
use serde_json::json;
use types::{Event, EventKind};
use uuid::Uuid;

use super::events::{self, Channels, NewEvent};
use super::{Context, Error, instant, webhooks};
use crate::store::{self, entity};

pub mod schedule;

/// How long one is in hand: longer than any try may take.
const IN_HAND: TimeDelta = TimeDelta::seconds(60);
/// How many are taken into hand at once.
const AT_ONCE: u64 = 16;

/// Where a delivery goes.
#[derive(Clone, Debug)]
pub enum Receiver {
    /// A webhook.
    Webhook {
        /// The address.
        url: String,
        /// The keys that sign: the present one, and for a while the one before.
        keys: Vec<Vec<u8>>,
    },
    /// A mail address.
    Mail {
        /// The address.
        address: String,
    },
}

/// A delivery in hand.
#[derive(Clone, Debug)]
pub struct InHand {
    /// The delivery.
    pub id: Uuid,
    /// What is told.
    pub event: Event,
    /// The code of the part that a count would put right.
    pub part: Option<String>,
    /// Where it goes.
    pub receiver: Receiver,
}

/// What came of a try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It arrived.
    Delivered {
        /// What the receiver said.
        answer: String,
    },
    /// It did not arrive, or that is not known.
    Failed {
        /// Why.
        answer: String,
        /// How long the receiver asks to be left alone.
        retry_after: Option<Duration>,
    },
    /// The receiver wants nothing any more.
    Gone {
        /// What it said.
        answer: String,
    },
}

/// Takes what is due into hand. What has lost its receiver is given up on the way.
///
/// # Errors
/// A failure of the store.
pub async fn take(context: &Context) -> Result<Vec<InHand>, Error> {
    let now = context.clock.now();
    // Most of the time nothing is due, and nothing need be written to know that.
    let db = context.store.read();
    if store::deliveries::due(db, now.timestamp_micros(), 1)
        .await?
        .is_empty()
    {
        return Ok(Vec::new());
    }
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let (now, until) = (now.timestamp_micros(), (now + IN_HAND).timestamp_micros());
            let rows = store::deliveries::claim(tx, now, until, AT_ONCE).await?;
            let mut receivers = HashMap::new();
            let mut taken = Vec::new();
            for row in rows {
                let found = match receivers.entry(row.target) {
                    Entry::Occupied(known) => known.into_mut(),
                    Entry::Vacant(free) => free.insert(receiver(tx, &row, now).await?),
                };
                let Some(receiver) = found else {
                    let why = "the receiver is gone";
                    store::deliveries::give_up_all(tx, row.target, now, why).await?;
                    continue;
                };
                taken.push(in_hand(tx, &row, receiver.clone()).await?);
            }
            Ok(taken)
        })
    });
    write.await
}

/// Lets go of what a process had in hand that is gone, so that it is sent now and not in a minute. Only for who
/// has the database alone.
///
/// # Errors
/// A failure of the store.
pub async fn let_go(context: &Context) -> Result<(), Error> {
    let write = context
        .writer
        .write(|tx| Box::pin(async move { Ok(store::deliveries::let_go(tx).await?) }));
    write.await
}

async fn in_hand(
    db: &impl ConnectionTrait,
    row: &entity::deliveries::Model,
    receiver: Receiver,
) -> Result<InHand, Error> {
    let event = store::events::find(db, row.event_sequence).await?;
    let lost = || Error::Internal(format!("the event of delivery {} is gone", row.id));
    let event = event.ok_or_else(lost)?;
    Ok(InHand {
        id: row.id,
        part: event.part.clone(),
        event: events::view(event)?,
        receiver,
    })
}

async fn receiver(
    db: &impl ConnectionTrait,
    row: &entity::deliveries::Model,
    now: i64,
) -> Result<Option<Receiver>, Error> {
    if row.channel == events::WEBHOOK {
        let found = store::webhooks::find(db, row.target).await?;
        let found = found.filter(|it| it.disabled_at.is_none());
        return found
            .map(|webhook| {
                Ok(Receiver::Webhook {
                    keys: webhooks::keys(&webhook, now)?,
                    url: webhook.url,
                })
            })
            .transpose();
    }
    let found = store::mail_addresses::find(db, row.target).await?;
    Ok(found.map(|row| Receiver::Mail {
        address: row.address,
    }))
}

/// Notes what came of a try. `dice` is a number from 0 to 1 at random. A delivery that has ended in the
/// meantime, since another process had it in hand too, stays as it is.
///
/// # Errors
/// A failure of the store; the delivery is then tried again.
pub async fn note(
    context: &Context,
    delivery: Uuid,
    outcome: Outcome,
    dice: f64,
) -> Result<(), Error> {
    let now = context.clock.now();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let Some(row) = store::deliveries::find(tx, delivery).await? else {
                return Ok(());
            };
            if row.state != store::deliveries::WAITING {
                return Ok(());
            }
            Tried { tx, row, now }.note(outcome, dice).await
        })
    });
    write.await
}

/// One try whose outcome is noted.
struct Tried<'t> {
    tx: &'t DatabaseTransaction,
    row: entity::deliveries::Model,
    now: DateTime<Utc>,
}

impl Tried<'_> {
    async fn note(&self, outcome: Outcome, dice: f64) -> Result<(), Error> {
        match outcome {
            Outcome::Delivered { answer } => {
                self.note_receiver(&answer, None).await?;
                let state = store::deliveries::DELIVERED;
                self.end(state, answer).await
            }
            Outcome::Gone { answer } => {
                self.note_receiver(&answer, Some(self.micros())).await?;
                self.end(store::deliveries::GIVEN_UP, answer.clone())
                    .await?;
                self.disable(&format!("it {answer}, which asks for no more"))
                    .await
            }
            Outcome::Failed {
                answer,
                retry_after,
            } => self.note_failure(answer, retry_after, dice).await,
        }
    }

    async fn note_failure(
        &self,
        answer: String,
        retry_after: Option<Duration>,
        dice: f64,
    ) -> Result<(), Error> {
        let failing_since = self.failing_since().await?.unwrap_or(self.micros());
        self.note_receiver(&answer, Some(failing_since)).await?;
        if self.row.channel == events::WEBHOOK && self.is_long_since(failing_since) {
            self.end(store::deliveries::GIVEN_UP, answer.clone())
                .await?;
            let since = instant::from_micros(failing_since).format("%Y-%m-%d %H:%M");
            let why = format!("every try has failed since {since} UTC; the last: {answer}");
            return self.disable(&why).await;
        }
        let first_at = self.row.first_at.unwrap_or(self.micros());
        if self.is_long_since(first_at) {
            self.end(store::deliveries::GIVEN_UP, answer.clone())
                .await?;
            return self.tell_given_up(&answer).await;
        }
        let attempts = self.row.attempts + 1;
        let wait = schedule::wait(u32::try_from(attempts).unwrap_or(1), dice, retry_after);
        let wait = i64::try_from(wait.as_micros()).unwrap_or(i64::MAX);
        let row = entity::deliveries::ActiveModel {
            attempts: Set(attempts),
            first_at: Set(Some(first_at)),
            next_at: Set(self.micros().saturating_add(wait)),
            claimed_until: Set(None),
            last_answer: Set(Some(answer)),
            ..Default::default()
        };
        Ok(store::deliveries::update(self.tx, self.row.id, row).await?)
    }

    fn micros(&self) -> i64 {
        self.now.timestamp_micros()
    }

    fn is_long_since(&self, since: i64) -> bool {
        let passed = self.micros().saturating_sub(since);
        u64::try_from(passed)
            .is_ok_and(|passed| Duration::from_micros(passed) >= schedule::GIVE_UP_AFTER)
    }

    async fn end(&self, state: &str, answer: String) -> Result<(), Error> {
        let row = entity::deliveries::ActiveModel {
            state: Set(state.to_owned()),
            attempts: Set(self.row.attempts + 1),
            first_at: Set(self.row.first_at.or(Some(self.micros()))),
            claimed_until: Set(None),
            last_answer: Set(Some(answer)),
            ended_at: Set(Some(self.micros())),
            ..Default::default()
        };
        Ok(store::deliveries::update(self.tx, self.row.id, row).await?)
    }

    async fn failing_since(&self) -> Result<Option<i64>, Error> {
        let (db, id) = (self.tx, self.row.target);
        Ok(if self.row.channel == events::WEBHOOK {
            let found = store::webhooks::find(db, id).await?;
            found.and_then(|it| it.failing_since)
        } else {
            let found = store::mail_addresses::find(db, id).await?;
            found.and_then(|it| it.failing_since)
        })
    }

    async fn note_receiver(&self, answer: &str, failing_since: Option<i64>) -> Result<(), Error> {
        let (db, id, now) = (self.tx, self.row.target, self.micros());
        if self.row.channel == events::WEBHOOK {
            let row = entity::webhooks::ActiveModel {
                failing_since: Set(failing_since),
                last_answer: Set(Some(answer.to_owned())),
                last_answer_at: Set(Some(now)),
                ..Default::default()
            };
            return Ok(store::webhooks::note(db, id, row).await?);
        }
        let row = entity::mail_addresses::ActiveModel {
            failing_since: Set(failing_since),
            last_answer: Set(Some(answer.to_owned())),
            last_answer_at: Set(Some(now)),
            ..Default::default()
        };
        Ok(store::mail_addresses::note(db, id, row).await?)
    }

    /// Sends nothing to the webhook any more, and tells it by mail.
    async fn disable(&self, why: &str) -> Result<(), Error> {
        let Some(webhook) = store::webhooks::find(self.tx, self.row.target).await? else {
            return Ok(());
        };
        if webhook.disabled_at.is_some() {
            return Ok(());
        }
        let row = entity::webhooks::ActiveModel {
            disabled_at: Set(Some(self.micros())),
            disabled_why: Set(Some(why.to_owned())),
            ..Default::default()
        };
        store::webhooks::note(self.tx, webhook.id, row).await?;
        let lost = "the webhook was disabled";
        store::deliveries::give_up_all(self.tx, webhook.id, self.micros(), lost).await?;
        let event = NewEvent {
            kind: EventKind::WebhookDisabled,
            subject: format!("webhook {}", webhook.id),
            site: webhook.site,
            part: None,
            warning: None,
            at: self.now,
            channels: Channels {
                mail: true,
                ..Channels::PAGE
            },
            says: format!(
                "Nothing is sent to webhook {} any more: {why}. Next: mend the receiver, then \
                 POST /v1/webhooks/{}/enable.",
                webhook.url, webhook.id
            ),
            data: json!({ "webhook": webhook.id, "url": webhook.url, "why": why }),
        };
        events::record(self.tx, event).await.map(|_| ())
    }

    /// Tells by the other channel that a message did not arrive. What tells of such a failure, and fails
    /// as well, is told on the page alone: two broken channels must not tell of each other for ever.
    async fn tell_given_up(&self, answer: &str) -> Result<(), Error> {
        let Some(lost) = store::events::find(self.tx, self.row.event_sequence).await? else {
            return Ok(());
        };
        let about_channels = [EventKind::DeliveryGivenUp, EventKind::WebhookDisabled]
            .iter()
            .any(|kind| kind.as_str() == lost.kind);
        let by_webhook = self.row.channel == events::WEBHOOK;
        let channels = Channels {
            mail: by_webhook && !about_channels,
            webhook: !by_webhook && !about_channels,
            calendar: false,
        };
        let event = NewEvent {
            kind: EventKind::DeliveryGivenUp,
            subject: format!("{} {}", self.row.channel, self.row.target),
            site: lost.site,
            part: None,
            warning: lost.warning_id,
            at: self.now,
            channels,
            says: format!(
                "A message could not be delivered by {} for five days and is not tried any more: \"{}\" \
                 The last answer: {answer}. Next: check the receiver.",
                self.row.channel, lost.says
            ),
            data: json!({
                "event": lost.id,
                "channel": self.row.channel,
                "receiver": self.row.target,
                "answer": answer,
            }),
        };
        events::record(self.tx, event).await.map(|_| ())
    }
}
