//! Events by hand, for tests of what becomes of them.

use chrono::{DateTime, Utc};
use server::service::Context;
use server::service::events::{self, Channels, NewEvent};
use types::{EventKind, NewWebhook, WebhookSecret};
use uuid::Uuid;

use crate::TestServer;

/// An event about a subject, to all channels.
pub fn event(kind: EventKind, subject: &str, says: &str, at: DateTime<Utc>) -> NewEvent {
    NewEvent {
        kind,
        subject: subject.to_owned(),
        site: None,
        part: None,
        warning: None,
        at,
        channels: Channels::ALL,
        says: says.to_owned(),
        data: serde_json::json!({}),
    }
}

/// Records an event and gives its id.
pub async fn record(context: &Context, event: NewEvent) -> Uuid {
    let write = context
        .writer
        .write(move |tx| Box::pin(async move { events::record(tx, event).await }));
    write.await.expect("it is recorded")
}

impl TestServer {
    /// Records that a warning about a subject was told now; the id of the event.
    pub async fn tell(&self, subject: &str, says: &str) -> Uuid {
        let now = self.context.clock.now();
        record(
            &self.context,
            event(EventKind::WarningTold, subject, says, now),
        )
        .await
    }

    /// Sends what is due now; how many tries that took.
    pub async fn deliver(&self) -> usize {
        let sent = server::channels::deliver_due(&self.context, &self.channels);
        sent.await.expect("what is due is sent")
    }

    /// Adds a webhook that leads there.
    pub async fn webhook(&self, url: &str) -> WebhookSecret {
        let new = NewWebhook {
            url: url.to_owned(),
            ..NewWebhook::default()
        };
        let made = self.owner.create_webhook(&new).await;
        made.expect("it is added")
    }
}
