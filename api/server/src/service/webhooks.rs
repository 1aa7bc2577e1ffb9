//! Webhooks: who gets events, and the keys that sign them. Whether an address may be reached is for
//! `channels` to say, which also sends.

use chrono::TimeDelta;
use data_encoding::BASE64;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{EventKind, NewWebhook, Page, Sending, Webhook, WebhookPage, WebhookSecret};
use uuid::Uuid;

use super::{Context, Error, codes, instant, keys as callers};
use crate::store::{self, entity::webhooks};

/// Marks a secret of a webhook (Standard Webhooks).
pub const SECRET_PREFIX: &str = "whsec_";
/// The length of a key in bytes; the specification asks for 24 to 64.
const KEY_BYTES: usize = 32;
/// How long the key before signs as well, so that a receiver can change over without a gap.
const BOTH: TimeDelta = TimeDelta::hours(24);

/// A page of webhooks.
pub async fn list(context: &Context, page: &Page) -> Result<WebhookPage, Error> {
    let db = context.store.read();
    let after = page.after.as_deref().map(callers::cursor).transpose()?;
    let rows = store::webhooks::list(db, after, page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.id.to_string());
    let mut found = Vec::with_capacity(rows.len());
    for row in rows {
        found.push(view(db, row).await?);
    }
    Ok(WebhookPage {
        webhooks: found,
        next,
    })
}

/// One webhook.
pub async fn get(context: &Context, id: &str) -> Result<Webhook, Error> {
    let db = context.store.read();
    let row = find(db, id).await?;
    view(db, row).await
}

/// Where a webhook is, and the keys that sign for it: for a test.
pub async fn target(context: &Context, id: &str) -> Result<(String, Vec<Vec<u8>>), Error> {
    let row = find(context.store.read(), id).await?;
    let keys = keys(&row, context.clock.now().timestamp_micros())?;
    Ok((row.url, keys))
}

/// Adds a webhook whose address was found good. Its secret is told this once.
pub async fn create(context: &Context, new: NewWebhook) -> Result<WebhookSecret, Error> {
    new.check()?;
    let now = context.clock.now().timestamp_micros();
    let secret = secret()?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let row = webhooks::ActiveModel {
                id: Set(Uuid::now_v7()),
                secret: Set(secret.clone()),
                created_at: Set(now),
                version: Set(1),
                ..given(tx, &new).await?
            };
            let row = store::webhooks::insert(tx, row).await?;
            Ok(WebhookSecret {
                webhook: view(tx, row).await?,
                secret: format!("{SECRET_PREFIX}{secret}"),
                both_until: None,
            })
        })
    });
    write.await
}

/// Replaces a webhook whose address was found good; its secret stays.
pub async fn replace(
    context: &Context,
    id: &str,
    seen: i64,
    new: NewWebhook,
) -> Result<Webhook, Error> {
    new.check()?;
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("webhook", &id, old.version, seen)?;
            let row = given(tx, &new).await?;
            store::webhooks::edit(tx, (old.id, old.version), row).await?;
            view(tx, find(tx, &id).await?).await
        })
    });
    write.await
}

/// Removes a webhook, with what is on its way to it.
pub async fn delete(context: &Context, id: &str, seen: i64) -> Result<(), Error> {
    let (id, now) = (id.to_owned(), context.clock.now().timestamp_micros());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("webhook", &id, old.version, seen)?;
            let why = "the webhook was removed";
            store::deliveries::give_up_all(tx, old.id, now, why).await?;
            Ok(store::webhooks::delete(tx, old.id).await?)
        })
    });
    write.await
}

/// Sends to a webhook again. What was given up stays so: `/v1/events` has it.
pub async fn enable(context: &Context, id: &str) -> Result<Webhook, Error> {
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            let row = webhooks::ActiveModel {
                disabled_at: Set(None),
                disabled_why: Set(None),
                failing_since: Set(None),
                ..Default::default()
            };
            store::webhooks::edit(tx, (old.id, old.version), row).await?;
            view(tx, find(tx, &id).await?).await
        })
    });
    write.await
}

/// Makes a new secret, told this once. For a day what is sent is signed with both.
pub async fn rotate(context: &Context, id: &str) -> Result<WebhookSecret, Error> {
    let (id, now) = (id.to_owned(), context.clock.now());
    let secret = secret()?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            let until = now + BOTH;
            let row = webhooks::ActiveModel {
                secret: Set(secret.clone()),
                secret_before: Set(Some(old.secret)),
                secret_before_until: Set(Some(until.timestamp_micros())),
                ..Default::default()
            };
            store::webhooks::edit(tx, (old.id, old.version), row).await?;
            Ok(WebhookSecret {
                webhook: view(tx, find(tx, &id).await?).await?,
                secret: format!("{SECRET_PREFIX}{secret}"),
                both_until: Some(until),
            })
        })
    });
    write.await
}

/// The keys that sign what is sent at an instant (microseconds), the present one first.
pub(super) fn keys(row: &webhooks::Model, now: i64) -> Result<Vec<Vec<u8>>, Error> {
    let before = row
        .secret_before
        .as_ref()
        .filter(|_| row.secret_before_until.is_some_and(|until| until > now));
    let keys = [Some(&row.secret), before].into_iter().flatten();
    keys.map(|secret| {
        BASE64
            .decode(secret.as_bytes())
            .map_err(|_| Error::Internal(format!("a secret of webhook {} is spoilt", row.id)))
    })
    .collect()
}

fn secret() -> Result<String, Error> {
    let mut bytes = [0_u8; KEY_BYTES];
    getrandom::fill(&mut bytes)
        .map_err(|error| Error::Internal(format!("no random numbers: {error}")))?;
    Ok(BASE64.encode(&bytes))
}

/// What a caller gives, as columns.
async fn given(
    db: &impl ConnectionTrait,
    new: &NewWebhook,
) -> Result<webhooks::ActiveModel, Error> {
    let site = match new.site.as_deref() {
        Some(site) => Some(codes::site_or_first(db, "/site", Some(site)).await?.code),
        None => None,
    };
    Ok(webhooks::ActiveModel {
        id: NotSet,
        url: Set(new.url.trim().to_owned()),
        note: Set(new.note.clone()),
        kinds: Set(kinds_text(&new.kinds)),
        site: Set(site),
        ..Default::default()
    })
}

/// Kinds of event as a column holds them; the usual ones if none are told.
pub(super) fn kinds_text(kinds: &[EventKind]) -> String {
    let kinds = if kinds.is_empty() {
        &EventKind::USUAL
    } else {
        kinds
    };
    let words: Vec<&str> = kinds.iter().map(|kind| kind.as_str()).collect();
    words.join(" ")
}

/// Kinds of event as they are told.
pub(super) fn kinds(text: &str) -> Vec<EventKind> {
    text.split_whitespace()
        .filter_map(EventKind::parse)
        .collect()
}

async fn find(db: &impl ConnectionTrait, id: &str) -> Result<webhooks::Model, Error> {
    let missing = || Error::NotFound {
        kind: "webhook",
        key: id.to_owned(),
    };
    let uuid: Uuid = id.parse().map_err(|_| missing())?;
    store::webhooks::find(db, uuid).await?.ok_or_else(missing)
}

async fn view(db: &impl ConnectionTrait, row: webhooks::Model) -> Result<Webhook, Error> {
    let waiting = store::deliveries::waiting(db, row.id).await?;
    let state = match (row.disabled_at, row.failing_since) {
        (Some(_), _) => "disabled",
        (None, Some(_)) => "failing",
        (None, None) => "in use",
    };
    Ok(Webhook {
        url: row.url,
        note: row.note,
        kinds: kinds(&row.kinds),
        site: row.site,
        id: row.id,
        state: state.to_owned(),
        disabled_why: row.disabled_why,
        sending: Sending {
            waiting,
            failing_since: row.failing_since.map(instant::from_micros),
            last_answer: row.last_answer,
            last_answer_at: row.last_answer_at.map(instant::from_micros),
        },
        version: row.version,
    })
}
