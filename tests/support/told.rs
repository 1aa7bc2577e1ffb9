//! Events by hand, for tests of what becomes of them.

use chrono::{DateTime, Utc};
use client::Client;
use server::service::Context;
use server::service::events::{self, Channels, NewEvent};
use types::{EventKind, NewCount, NewLook, NewWatch, NewWebhook, WebhookSecret};
use uuid::Uuid;

use crate::TestServer;
use crate::builders::electrode;

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

/// A part that is watched and low, and a look that tells so: when it is answered, that is committed.
pub async fn tell_low(owner: &Client, part: &str) {
    owner
        .create_part(&electrode(part, "2.4 mm"))
        .await
        .expect("a part");
    let watch = NewWatch {
        part: Some(part.to_owned()),
        limit: Some("5".to_owned()),
        ..NewWatch::default()
    };
    owner.create_watch(&watch).await.expect("a watch");
    let count = NewCount {
        part: part.to_owned(),
        counted: 1,
        ..NewCount::default()
    };
    owner.record_count(&count, part).await.expect("a count");
    owner
        .look_at_stock(&NewLook::default())
        .await
        .expect("a look");
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
