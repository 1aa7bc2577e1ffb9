//! Events: what the service tells, on the page, as a stream, by webhook and by mail.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::Violation;

/// What happened.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
pub enum EventKind {
    /// A warning was told: it says what is low, and what to do by when.
    #[serde(rename = "warning.told")]
    WarningTold,
    /// A warning got much worse since it was told.
    #[serde(rename = "warning.escalated")]
    WarningEscalated,
    /// A warning is over.
    #[serde(rename = "warning.closed")]
    WarningClosed,
    /// Somebody has seen a warning that cannot be silenced.
    #[serde(rename = "warning.acknowledged")]
    WarningAcknowledged,
    /// The weekly digest of a site is there.
    #[serde(rename = "digest.ready")]
    DigestReady,
    /// Nothing is sent to a webhook any more.
    #[serde(rename = "webhook.disabled")]
    WebhookDisabled,
    /// A message could not be delivered and is not tried any more.
    #[serde(rename = "delivery.given_up")]
    DeliveryGivenUp,
    /// Somebody tries whether messages arrive.
    #[serde(rename = "test")]
    Test,
}

impl EventKind {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::WarningTold,
        Self::WarningEscalated,
        Self::WarningClosed,
        Self::WarningAcknowledged,
        Self::DigestReady,
        Self::WebhookDisabled,
        Self::DeliveryGivenUp,
        Self::Test,
    ];

    /// The word on the wire.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::WarningTold => "warning.told",
            Self::WarningEscalated => "warning.escalated",
            Self::WarningClosed => "warning.closed",
            Self::WarningAcknowledged => "warning.acknowledged",
            Self::DigestReady => "digest.ready",
            Self::WebhookDisabled => "webhook.disabled",
            Self::DeliveryGivenUp => "delivery.given_up",
            Self::Test => "test",
        }
    }

    /// What a receiver gets unless told: what is worth a message, and the weekly digest.
    pub const USUAL: [Self; 5] = [
        Self::WarningTold,
        Self::WarningEscalated,
        Self::DigestReady,
        Self::WebhookDisabled,
        Self::DeliveryGivenUp,
    ];

    /// The kind of that word.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.as_str() == word)
    }
}

/// Something that the service tells.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Event {
    /// Numbers the events in the order in which they were recorded; also the id in the stream.
    pub sequence: i64,
    /// Names the event, the same on every channel and at every try.
    pub id: Uuid,
    /// What happened.
    pub kind: EventKind,
    /// What it is about, mostly the code of a part or job. A receiver gets what is about one subject in
    /// order.
    #[schema(example = "WLa20-1.6")]
    pub subject: String,
    /// The site it is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// The warning it belongs to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warning: Option<Uuid>,
    /// When it happened.
    pub at: DateTime<Utc>,
    /// The message, one line.
    pub says: String,
    /// The rest, by kind: the warning, the lines of the digest, the webhook.
    #[schema(value_type = Object)]
    pub data: serde_json::Value,
}

/// From where on events are asked for.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct FollowEvents {
    /// The `sequence` of the last event that is known; 0 for all that are kept. Without it, and without
    /// the header `Last-Event-ID`, which goes before it, the stream begins with what comes next.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 0)]
    pub after: Option<i64>,
    /// End when all that is there was told, for who looks now and then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub once: Option<bool>,
}

impl FollowEvents {
    /// The number after which to begin, if one was told in the header or here.
    ///
    /// # Errors
    /// It is no number of an event.
    pub fn start(&self, last_event_id: Option<&str>) -> Result<Option<i64>, Vec<Violation>> {
        let wrong = |place: &str, told: &str| {
            let detail = format!(
                "{place}\"{told}\" is not the number of an event; give the id of the last event you had, or 0"
            );
            vec![Violation::new("?after", detail)]
        };
        if let Some(told) = last_event_id {
            return match told.trim().parse() {
                Ok(number) if number >= 0 => Ok(Some(number)),
                Ok(_) | Err(_) => Err(wrong("Last-Event-ID: ", told)),
            };
        }
        match self.after {
            Some(number) if number < 0 => Err(wrong("", &number.to_string())),
            told => Ok(told),
        }
    }
}
