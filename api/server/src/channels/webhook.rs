//! Sending to a webhook: signed as the Standard Webhooks specification has it, with a body of
//! `CloudEvents` 1.0. When and how often is for `service::deliveries` to say.

use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, Utc};
use data_encoding::BASE64;
use hmac::{Hmac, KeyInit, Mac};
use reqwest::header::{CONTENT_TYPE, HeaderMap, RETRY_AFTER};
use reqwest::{Response, StatusCode};
use serde_json::json;
use sha2::Sha256;
use types::Event;
use uuid::Uuid;

use super::addresses::{AddressRule, Guarded};
use super::chain;
use crate::service::Error;
use crate::service::deliveries::Outcome;

/// How long a try may take in all; the specification recommends 15 to 30 s.
const TIMEOUT: Duration = Duration::from_secs(15);
/// How much of an answer is read; nothing depends on it.
const ANSWER_BYTES_MAX: usize = 1_024;
/// How much of it is told.
const ANSWER_CHARS_MAX: usize = 200;
/// The media type of a `CloudEvent` in JSON (`CloudEvents` 1.0, JSON format 1.0).
const MEDIA_TYPE: &str = "application/cloudevents+json; charset=utf-8";

/// Something that is sent: the same id and body at every try.
#[derive(Clone, Debug)]
pub struct Message {
    /// The id of the event.
    pub id: Uuid,
    /// The `CloudEvent`.
    pub body: String,
}

impl Message {
    /// The message of an event; `source` names this service.
    pub fn of(event: &Event, source: &str) -> Self {
        let body = json!({
            "specversion": "1.0",
            "id": event.id,
            "source": source,
            "type": format!("tigstock.{}", event.kind.as_str()),
            "subject": event.subject,
            "time": event.at,
            "datacontenttype": "application/json",
            "data": event,
        });
        Self {
            id: event.id,
            body: body.to_string(),
        }
    }
}

/// Sends to webhooks.
#[derive(Clone, Debug)]
pub struct Sender {
    http: reqwest::Client,
    /// Where they may lead.
    pub rule: Arc<AddressRule>,
}

impl Sender {
    /// A sender that keeps to a rule.
    ///
    /// # Errors
    /// No client can be built.
    pub fn new(rule: AddressRule) -> Result<Self, String> {
        // The one provider of cryptography; it is there already when a second sender is made.
        rustls::crypto::ring::default_provider()
            .install_default()
            .ok();
        let rule = Arc::new(rule);
        let builder = || {
            reqwest::Client::builder()
                .timeout(TIMEOUT)
                .redirect(reqwest::redirect::Policy::none())
                // A proxy would look names up by itself, past the rule.
                .no_proxy()
                .pool_max_idle_per_host(0)
                .dns_resolver(Guarded(Arc::clone(&rule)))
                .user_agent(concat!("tigstock/", env!("CARGO_PKG_VERSION")))
        };
        let http = builder().build().or_else(|error| {
            // A service without webhooks starts all the same; with them, each attempt tells why it failed.
            tracing::warn!(
                error = chain(&error),
                "this machine has no certificates of authorities, so no webhook can be reached by https; install \
                 them (Debian: ca-certificates) and start again"
            );
            builder().tls_certs_only([]).build()
        });
        let http = http.map_err(|error| chain(&error))?;
        Ok(Self { http, rule })
    }

    /// Sends once and tells what came of it.
    ///
    /// # Errors
    /// A key that cannot sign.
    pub async fn send(
        &self,
        url: &str,
        keys: &[Vec<u8>],
        message: &Message,
        now: DateTime<Utc>,
    ) -> Result<Outcome, Error> {
        let url = match self.rule.read(url) {
            Ok(url) => url,
            Err(refused) => return Ok(failed(refused.to_string())),
        };
        let timestamp = now.timestamp();
        let signature = signatures(keys, message, timestamp)?;
        let request = self
            .http
            .post(url)
            .header(CONTENT_TYPE, MEDIA_TYPE)
            .header("webhook-id", message.id.to_string())
            .header("webhook-timestamp", timestamp.to_string())
            .header("webhook-signature", signature)
            .body(message.body.clone());
        Ok(match request.send().await {
            Ok(response) => told(response, now).await,
            Err(error) => failed(chain(&error.without_url())),
        })
    }
}

fn failed(answer: String) -> Outcome {
    Outcome::Failed {
        answer,
        retry_after: None,
    }
}

/// Version 1 signatures of every key, with a blank between: HMAC-SHA256 over id, timestamp and body with
/// a full stop between them, in base64.
fn signatures(keys: &[Vec<u8>], message: &Message, timestamp: i64) -> Result<String, Error> {
    let mut signed = Vec::with_capacity(keys.len());
    for key in keys {
        let mut mac = Hmac::<Sha256>::new_from_slice(key)
            .map_err(|error| Error::Internal(format!("a key cannot sign: {error}")))?;
        mac.update(format!("{}.{timestamp}.{}", message.id, message.body).as_bytes());
        signed.push(format!(
            "v1,{}",
            BASE64.encode(&mac.finalize().into_bytes())
        ));
    }
    Ok(signed.join(" "))
}

async fn told(response: Response, now: DateTime<Utc>) -> Outcome {
    let status = response.status();
    let retry_after = retry_after(response.headers(), now);
    if status.is_success() {
        let answer = format!("answered {status}");
        return Outcome::Delivered { answer };
    }
    let body = beginning(response).await;
    let mut answer = format!("answered {status}");
    if status.is_redirection() {
        answer.push_str(", and nothing follows to another address");
    }
    if !body.is_empty() {
        answer = format!("{answer}: {body}");
    }
    if status == StatusCode::GONE {
        return Outcome::Gone { answer };
    }
    Outcome::Failed {
        answer,
        retry_after,
    }
}

/// The beginning of an answer on one line; the rest is not read.
async fn beginning(mut response: Response) -> String {
    let mut body = Vec::new();
    while body.len() < ANSWER_BYTES_MAX {
        match response.chunk().await {
            Ok(Some(chunk)) => body.extend_from_slice(&chunk),
            // A body that breaks off says as much as one that ends.
            Ok(None) | Err(_) => break,
        }
    }
    body.truncate(ANSWER_BYTES_MAX);
    let text = String::from_utf8_lossy(&body);
    let words: Vec<&str> = text
        .split(|letter: char| letter.is_whitespace() || letter.is_control())
        .filter(|word| !word.is_empty())
        .collect();
    words.join(" ").chars().take(ANSWER_CHARS_MAX).collect()
}

/// How long the receiver asks to be left alone: seconds or a date (RFC 9110 10.2.3).
fn retry_after(headers: &HeaderMap, now: DateTime<Utc>) -> Option<Duration> {
    let told = headers.get(RETRY_AFTER)?.to_str().ok()?.trim();
    if let Ok(seconds) = told.parse() {
        return Some(Duration::from_secs(seconds));
    }
    let until = DateTime::parse_from_rfc2822(told).ok()?;
    (until.to_utc() - now).to_std().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_receiver_may_ask_for_seconds_or_for_a_date() {
        let now = DateTime::parse_from_rfc3339("2026-06-15T12:00:00Z").expect("an instant");
        let asked = |told: &str| {
            let told = told.parse().expect("a header");
            retry_after(&HeaderMap::from_iter([(RETRY_AFTER, told)]), now.to_utc())
        };
        assert_eq!(asked("120"), Some(Duration::from_mins(2)));
        let date = asked("Mon, 15 Jun 2026 12:30:00 GMT");
        assert_eq!(date, Some(Duration::from_mins(30)));
        assert_eq!(asked("Mon, 15 Jun 2026 11:30:00 GMT"), None);
        assert_eq!(asked("soon"), None);
    }
}
