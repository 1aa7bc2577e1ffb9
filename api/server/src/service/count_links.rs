//! Links that record one count of one part at one site, for who has no key: the way in which a mail asks
//! whether its warning is right. A link is signed, ends, and can do nothing else. Its page is in
//! `http::pages::count_form`.

use chrono::{DateTime, TimeDelta, Utc};
use data_encoding::{BASE64, BASE64URL_NOPAD, HEXLOWER};
use hmac::{Hmac, KeyInit, Mac};
use sea_orm::ActiveValue::Set;
use sea_orm::NotSet;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use types::{NewCount, Part, Role};
use uuid::Uuid;

use super::keys::Caller;
use super::ledger::{self, Answer};
use super::{Context, Error, parts};
use crate::store::{self, entity::link_keys};

/// How long a link works, from its event on.
pub const VALID: TimeDelta = TimeDelta::days(14);
/// The length of a key in bytes: that of the hash (RFC 2104 3).
const KEY_BYTES: usize = 32;
/// How much of a digest names a form, in characters; an idempotency key has at most 80.
const FORM_KEY_CHARS: usize = 64;

/// What a link is for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Link {
    /// The warning that it answers.
    #[serde(rename = "w", default, skip_serializing_if = "Option::is_none")]
    pub warning: Option<Uuid>,
    /// The code of the part.
    #[serde(rename = "p")]
    pub part: String,
    /// The code of the site.
    #[serde(rename = "s")]
    pub site: String,
    /// Until when it works.
    #[serde(rename = "u", with = "chrono::serde::ts_seconds")]
    pub until: DateTime<Utc>,
}

/// The token of a link: its words and their HMAC-SHA256, both in base64 for addresses.
///
/// # Errors
/// No key can be made or read.
pub async fn sign(context: &Context, link: &Link) -> Result<String, Error> {
    let words = serde_json::to_string(link).map_err(|error| Error::Internal(error.to_string()))?;
    let words = BASE64URL_NOPAD.encode(words.as_bytes());
    let key = newest_key(context).await?;
    let seal = mac(&key, &words)?.finalize().into_bytes();
    Ok(format!("{words}.{}", BASE64URL_NOPAD.encode(&seal)))
}

/// What a token is for, if it was signed here and still works.
///
/// # Errors
/// [`Error::NotFound`] for a token that was not signed here, [`Error::WrongState`] for one that has ended.
pub async fn read(context: &Context, token: &str) -> Result<Link, Error> {
    let unknown = || Error::NotFound {
        kind: "link",
        key: token.chars().take(12).collect(),
    };
    let (words, seal) = token.split_once('.').ok_or_else(unknown)?;
    let seal = BASE64URL_NOPAD
        .decode(seal.as_bytes())
        .map_err(|_| unknown())?;
    let mut is_ours = false;
    for row in store::link_keys::all(context.store.read()).await? {
        // Compares in a time that tells nothing of where they differ.
        is_ours |= mac(&key(&row)?, words)?.verify_slice(&seal).is_ok();
    }
    if !is_ours {
        return Err(unknown());
    }
    let text = BASE64URL_NOPAD
        .decode(words.as_bytes())
        .map_err(|_| unknown())?;
    let link: Link = serde_json::from_slice(&text).map_err(|_| unknown())?;
    if link.until <= context.clock.now() {
        let why = format!(
            "this link worked until {} UTC; count with the command line or the page instead",
            link.until.format("%Y-%m-%d %H:%M")
        );
        return Err(Error::WrongState(why));
    }
    Ok(link)
}

/// The part that a link is about.
///
/// # Errors
/// It is gone.
pub async fn part(context: &Context, link: &Link) -> Result<Part, Error> {
    parts::get(context, &link.part).await
}

/// Records the count that a link asks for. `form` names the form that was filled in: sent again, it counts
/// once, with the first answer.
///
/// # Errors
/// The number is refused, or the form was sent before with another one.
pub async fn count(
    context: &Context,
    (token, link): (&str, &Link),
    form: Uuid,
    counted: i64,
) -> Result<Answer, Error> {
    let new = NewCount {
        part: link.part.clone(),
        counted,
        site: Some(link.site.clone()),
        note: Some("by the link in a mail".to_owned()),
        ..NewCount::default()
    };
    let caller = Caller {
        key: None,
        role: Role::Log,
        until: None,
    };
    let digest = Sha256::digest(format!("{token} {form}"));
    let mut key = HEXLOWER.encode(&digest);
    key.truncate(FORM_KEY_CHARS);
    ledger::record_count(context, caller, &format!("link-{key}"), new).await
}

fn mac(key: &[u8], words: &str) -> Result<Hmac<Sha256>, Error> {
    let mut mac = Hmac::<Sha256>::new_from_slice(key)
        .map_err(|error| Error::Internal(format!("a link cannot be signed: {error}")))?;
    mac.update(words.as_bytes());
    Ok(mac)
}

fn key(row: &link_keys::Model) -> Result<Vec<u8>, Error> {
    BASE64
        .decode(row.secret.as_bytes())
        .map_err(|_| Error::Internal(format!("link key {} is spoilt", row.id)))
}

/// The key that signs; made when the first link is.
async fn newest_key(context: &Context) -> Result<Vec<u8>, Error> {
    if let Some(row) = store::link_keys::all(context.store.read()).await?.first() {
        return key(row);
    }
    let mut bytes = [0_u8; KEY_BYTES];
    getrandom::fill(&mut bytes)
        .map_err(|error| Error::Internal(format!("no random numbers: {error}")))?;
    let now = context.clock.now().timestamp_micros();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            // Another may have been faster.
            if let Some(row) = store::link_keys::all(tx).await?.first() {
                return key(row);
            }
            let row = link_keys::ActiveModel {
                id: NotSet,
                secret: Set(BASE64.encode(&bytes)),
                created_at: Set(now),
            };
            store::link_keys::insert(tx, row).await?;
            Ok(bytes.to_vec())
        })
    });
    write.await
}
