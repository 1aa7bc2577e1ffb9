//! Rotation: a key gets a new secret, and the old one works until a stated instant, so that whoever uses it can change
//! over without a gap.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::DatabaseTransaction;
use types::{CreatedKey, NewRotation};
use uuid::Uuid;

use super::{SHOWN, check_to_come, hash, secret, view};
use crate::service::{Context, Error, instant};
use crate::store::{self, entity::keys, keys::Rotation};

/// How long the old secret works unless told.
const OLD_WORKS: TimeDelta = TimeDelta::days(1);
/// And at most.
const OLD_WORKS_MAX: TimeDelta = TimeDelta::days(30);

/// Gives a key a new secret, which is shown this once.
///
/// # Errors
/// There is no such key, it is revoked, its last rotation is still under way, or it would end in the past.
pub async fn rotate(context: &Context, id: &str, new: NewRotation) -> Result<CreatedKey, Error> {
    let missing = || Error::NotFound {
        kind: "key",
        key: id.to_owned(),
    };
    let id: Uuid = id.parse().map_err(|_| missing())?;
    let now = context.clock.now();
    check_to_come(new.expires_at, now)?;
    let old_until = new.old_works_until.unwrap_or(now + OLD_WORKS);
    if old_until > now + OLD_WORKS_MAX {
        let why = format!("{old_until} is too far ahead; give at most 30 days from now");
        return Err(Error::invalid("/old_works_until", why));
    }
    let secret = secret()?;
    let fresh = Rotation {
        hash: hash(&secret),
        prefix: secret.chars().take(SHOWN).collect(),
        old: None,
        expires_at: new.expires_at.map(|at| at.timestamp_micros()),
    };
    let write = context
        .writer
        .write(move |tx| Box::pin(rotate_in(tx, id, fresh, (old_until, now))));
    let row = write.await?.ok_or_else(missing)?;
    context.keys.forget();
    Ok(CreatedKey {
        key: view(row, now),
        secret,
    })
}

async fn rotate_in(
    tx: &DatabaseTransaction,
    id: Uuid,
    fresh: Rotation,
    (old_until, now): (DateTime<Utc>, DateTime<Utc>),
) -> Result<Option<keys::Model>, Error> {
    let Some(row) = store::keys::find(tx, id).await? else {
        return Ok(None);
    };
    let expires_at = fresh.expires_at.or(row.expires_at);
    check_state(&row, expires_at, now)?;
    let old = (old_until > now).then(|| (row.hash, old_until.timestamp_micros()));
    let rotation = Rotation {
        old,
        expires_at,
        ..fresh
    };
    store::keys::rotate(tx, id, rotation).await?;
    Ok(store::keys::find(tx, id).await?)
}

/// Refuses a key that cannot be rotated now.
fn check_state(
    row: &keys::Model,
    expires_at: Option<i64>,
    now: DateTime<Utc>,
) -> Result<(), Error> {
    let micros = now.timestamp_micros();
    if row.revoked_at.is_some() {
        let why = "it is revoked; make another key";
        return Err(Error::WrongState(why.to_owned()));
    }
    if expires_at.is_some_and(|at| at <= micros) {
        let why = "it has expired; give a later expires_at with the rotation";
        return Err(Error::WrongState(why.to_owned()));
    }
    // A second rotation would end a secret that somebody may just have changed over to.
    if let Some(until) = row.old_works_until.filter(|until| *until > micros) {
        let until = instant::from_micros(until).to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
        let why = format!(
            "its last rotation is under way until {until}; rotate it after that, or make another key if the new \
             secret was lost"
        );
        return Err(Error::WrongState(why));
    }
    Ok(())
}
