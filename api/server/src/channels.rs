//! Channels: what sends events to people and programs, and the background work that does so. The only
//! place of the server that speaks to others by itself. What is due, and what a try came to, is kept by
//! `service::deliveries`; what happened is for `service::events`.

use std::error::Error as StdError;
use std::time::Duration;

use futures_util::future::join_all;
use types::{
    Event, EventKind, NewMailAddress, NewWebhook, Violation, Webhook, WebhookSecret, WebhookTest,
};
use uuid::Uuid;

use crate::config::Config;
use crate::service::deliveries::{self, InHand, Outcome, Receiver};
use crate::service::{self, Context, Error};

pub mod addresses;
pub mod letter;
pub mod mail;
pub mod webhook;

use addresses::AddressRule;
use tokio::sync::watch;
use tokio::time::Instant;

/// How often is looked whether something is due. A look costs one read.
const TICK: Duration = Duration::from_secs(1);
/// How often is looked whether a digest is due, and old events are forgotten.
const TIDY: Duration = Duration::from_mins(1);
/// How long to wait when looking fails.
const TROUBLE: Duration = Duration::from_secs(10);

/// What sends.
#[derive(Clone, Debug)]
pub struct Channels {
    webhooks: webhook::Sender,
    mail: Option<mail::Sender>,
    public_url: Option<String>,
}

impl Channels {
    /// The channels of the settings.
    ///
    /// # Errors
    /// A setting that cannot be used, named.
    pub fn new(config: &Config) -> Result<Self, String> {
        let rule = AddressRule::new(config.webhook_http, &config.webhook_allow)?;
        let public_url = config.public_url.as_deref().map(public).transpose()?;
        Ok(Self {
            webhooks: webhook::Sender::new(rule)?,
            mail: mail::Sender::new(config)?,
            public_url,
        })
    }

    /// What stands in the way of mail, if anything does.
    pub fn why_no_mail(&self) -> Option<String> {
        self.mail.is_none().then(|| {
            "No mail is sent: no mail server is set up. Put smtp_host and mail_from into the service's \
             settings."
                .to_owned()
        })
    }

    /// How this service is named where it sends.
    fn source(&self) -> &str {
        self.public_url.as_deref().unwrap_or("urn:tigstock")
    }
}

/// The address under which others reach the service, without a slash at the end.
fn public(told: &str) -> Result<String, String> {
    let url = reqwest::Url::parse(told.trim()).ok();
    let url = url.filter(|url| matches!(url.scheme(), "http" | "https") && url.query().is_none());
    url.map(|url| url.as_str().trim_end_matches('/').to_owned())
        .ok_or_else(|| {
            format!(
                "public_url: \"{told}\" is no address; give one such as https://tigstock.example"
            )
        })
}

/// Adds a webhook if its address may be reached.
///
/// # Errors
/// The address is refused, or the webhook cannot be kept.
pub async fn create_webhook(
    context: &Context,
    channels: &Channels,
    new: NewWebhook,
) -> Result<WebhookSecret, Error> {
    check_url(channels, &new).await?;
    service::webhooks::create(context, new).await
}

/// Replaces a webhook if its new address may be reached.
///
/// # Errors
/// The same, or it has changed since it was read.
pub async fn replace_webhook(
    context: &Context,
    channels: &Channels,
    (id, seen): (&str, i64),
    new: NewWebhook,
) -> Result<Webhook, Error> {
    check_url(channels, &new).await?;
    service::webhooks::replace(context, id, seen, new).await
}

async fn check_url(channels: &Channels, new: &NewWebhook) -> Result<(), Error> {
    new.check()?;
    let found = channels.webhooks.rule.look_up(&new.url).await;
    found
        .map(|_| ())
        .map_err(|refused| Error::invalid("/url", refused))
}

/// Checks the form of a mail address.
///
/// # Errors
/// A violation of the field.
pub fn check_address(new: &NewMailAddress) -> Result<(), Vec<Violation>> {
    mail::check(&new.address).map_err(|why| vec![Violation::new("/address", why)])
}

/// Sends a test to a webhook, also to a disabled one, and tells what came back. It is no event: nobody
/// else hears of it, and it is not tried again.
///
/// # Errors
/// There is no such webhook.
pub async fn try_webhook(
    context: &Context,
    channels: &Channels,
    id: &str,
) -> Result<WebhookTest, Error> {
    let (url, keys) = service::webhooks::target(context, id).await?;
    let now = context.clock.now();
    let event = Event {
        sequence: 0,
        id: Uuid::now_v7(),
        kind: EventKind::Test,
        subject: "test".to_owned(),
        site: None,
        warning: None,
        at: now,
        says: "A test: nothing has happened.".to_owned(),
        data: serde_json::json!({}),
    };
    let message = webhook::Message::of(&event, channels.source());
    // Signed with the time of the sending: a receiver compares it with its own clock.
    let outcome = channels.webhooks.send(&url, &keys, &message, now).await?;
    let (delivered, answer) = match outcome {
        Outcome::Delivered { answer } => (true, answer),
        Outcome::Failed { answer, .. } | Outcome::Gone { answer } => (false, answer),
    };
    Ok(WebhookTest {
        id: event.id,
        delivered,
        answer,
    })
}

/// Sends everything that is due, and what becomes due by that; how many tries that took.
///
/// # Errors
/// A failure of the store. What was sent and could not be noted is sent again, under the same id.
pub async fn deliver_due(context: &Context, channels: &Channels) -> Result<usize, Error> {
    let mut tries = 0;
    loop {
        let taken = deliveries::take(context).await?;
        if taken.is_empty() {
            return Ok(tries);
        }
        tries += taken.len();
        // Each is of a lane of its own, so they may go side by side.
        let sent = taken.into_iter().map(|it| send(context, channels, it));
        for noted in join_all(sent).await {
            noted?;
        }
    }
}

async fn send(context: &Context, channels: &Channels, in_hand: InHand) -> Result<(), Error> {
    let outcome = match &in_hand.receiver {
        Receiver::Webhook { url, keys } => {
            let message = webhook::Message::of(&in_hand.event, channels.source());
            let now = context.clock.now();
            channels.webhooks.send(url, keys, &message, now).await?
        }
        Receiver::Mail { address } => match &channels.mail {
            Some(mail) => {
                let reply = letter::reply(context, &in_hand, channels.public_url.as_deref());
                let letter = letter::of(&in_hand.event, reply.await?.as_ref());
                mail.send(address, &in_hand.event, letter).await
            }
            None => Outcome::Failed {
                answer: channels.why_no_mail().unwrap_or_default(),
                retry_after: None,
            },
        },
    };
    deliveries::note(context, in_hand.id, outcome, dice()).await
}

/// A number from 0 to 1 at random; 0 where there are no random numbers, which only makes tries regular.
fn dice() -> f64 {
    let mut bytes = [0_u8; 4];
    if getrandom::fill(&mut bytes).is_err() {
        return 0.0;
    }
    f64::from(u32::from_le_bytes(bytes)) / f64::from(u32::MAX)
}

/// Sends what is due until the service stops.
pub async fn run(context: Context, channels: Channels, mut stopping: watch::Receiver<bool>) {
    let sending = async {
        let mut tidied: Option<Instant> = None;
        loop {
            if tidied.is_none_or(|last| last.elapsed() >= TIDY) {
                tidied = Some(Instant::now());
                tidy(&context).await;
            }
            let pause = match deliver_due(&context, &channels).await {
                Ok(_) => TICK,
                Err(error) => {
                    complain(&error, "what is due could not be sent");
                    TROUBLE
                }
            };
            tokio::time::sleep(pause).await;
        }
    };
    // A try that is broken off is made again after the next start, under the same id.
    tokio::select! {
        // The sender is used or gone: either way it is over.
        _ = stopping.wait_for(|stopping| *stopping) => {}
        () = sending => {}
    }
}

/// Makes the digests that are due and forgets what is old.
async fn tidy(context: &Context) {
    if let Err(error) = service::digests::make_due(context).await {
        complain(&error, "a digest could not be made");
    }
    if let Err(error) = service::events::forget(context).await {
        complain(&error, "old events are still kept");
    }
}

fn complain(error: &Error, what: &str) {
    tracing::error!(error = error as &dyn StdError, "{what}");
}

/// An error with its causes, on one line.
fn chain(error: &dyn StdError) -> String {
    crate::cli::chain(error)
}
