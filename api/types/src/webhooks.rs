//! Webhooks: addresses to which the service sends what it tells, signed.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::shape::resource;
use crate::{Checker, EventKind, Sending, Violation};

/// The longest address, in characters.
const URL_MAX: usize = 2_000;
/// The longest note, in characters.
const NOTE_MAX: usize = 200;

resource! {
    /// A webhook as it should be.
    #[derive(Default)]
    new NewWebhook
    /// A webhook, without its secret.
    view Webhook
    given {
        /// Where to send: `https://`. Addresses of private networks are refused unless the service's
        /// settings allow them.
        #[schema(example = "https://hooks.example/tigstock")]
        url: String,
        /// What it is for.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
        /// The kinds of event to send; what is worth a message, and the weekly digest, unless told.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        kinds: Vec<EventKind>,
        /// The one site whose events it gets; all unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
    }
    added {
        /// Names the webhook in paths.
        id: Uuid,
        /// `in use`, `failing` or `disabled`.
        state: String,
        /// Why nothing is sent any more.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        disabled_why: Option<String>,
        /// What has come of sending to it.
        sending: Sending,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A webhook with a secret that was just made: the only time that it is shown.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct WebhookSecret {
    /// The webhook.
    pub webhook: Webhook,
    /// Verifies the signatures, as Standard Webhooks has it: `whsec_` and base64.
    pub secret: String,
    /// Until when what is sent is signed with the secret before as well.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub both_until: Option<DateTime<Utc>>,
}

/// What came of a test.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WebhookTest {
    /// The id that was sent.
    pub id: Uuid,
    /// Whether it was taken: an answer of 200 to 299.
    pub delivered: bool,
    /// What came back.
    #[schema(example = "answered 204 No Content")]
    pub answer: String,
}

/// A page of webhooks.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct WebhookPage {
    /// The webhooks, oldest first.
    pub webhooks: Vec<Webhook>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a webhook.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct WebhookPath {
    /// The id of the webhook.
    pub webhook: String,
}

impl NewWebhook {
    /// Checks what can be judged without the network and the settings.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        if self.url.trim().is_empty() {
            checker.note("url", "is empty; give an address that begins with https://");
        }
        checker.text("url", Some(&self.url), URL_MAX);
        checker.text("note", self.note.as_deref(), NOTE_MAX);
        checker.finish()
    }
}
