//! What has come of sending to a receiver: the same for webhooks and mail addresses.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What has come of sending to a receiver.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Sending {
    /// How many events are on their way to it.
    pub waiting: u64,
    /// Since when every try has failed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub failing_since: Option<DateTime<Utc>>,
    /// What came of the last try.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "answered 204 No Content")]
    pub last_answer: Option<String>,
    /// When that was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_answer_at: Option<DateTime<Utc>>,
}
