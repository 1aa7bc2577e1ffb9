//! Keys: made at random, shown once, kept as hashes, looked up on every call.

use std::collections::HashMap;
use std::sync::{PoisonError, RwLock};

use chrono::{DateTime, TimeDelta, Utc};
use data_encoding::HEXLOWER;
use sea_orm::ActiveValue::Set;
use sha2::{Digest, Sha256};
use types::{CreatedKey, Key, KeyPage, NewKey, Page, Role};
use uuid::Uuid;

use super::{Context, Error, codes, instant};
use crate::store::{self, entity::keys};

mod rotation;

pub use rotation::rotate;

/// Marks a secret as one of ours, for people and for scanners of leaked secrets.
const PREFIX: &str = "tig_";
/// How many characters of a secret are shown afterwards.
const SHOWN: usize = 10;
/// How long a process may go without looking whether another one revoked a key.
const FRESH: TimeDelta = TimeDelta::seconds(5);

/// From when on the end of a key is told.
const SOON: TimeDelta = TimeDelta::days(14);

/// Who calls, and what for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caller {
    /// The key; none in the demo.
    pub key: Option<Uuid>,
    /// What the key may do.
    pub role: Role,
    /// When the secret that was sent works no more, if it is to end.
    pub until: Option<DateTime<Utc>>,
}

impl Caller {
    /// The caller of the demo, where no key is needed.
    pub const DEMO: Self = Self {
        key: None,
        role: Role::Own,
        until: None,
    };

    /// Names the caller where idempotency keys are kept.
    pub fn id(&self) -> Uuid {
        self.key.unwrap_or_default()
    }

    /// When the secret ends, if that is soon.
    pub fn ends_soon(&self, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
        self.until.filter(|until| *until - now < SOON)
    }

    /// Refuses a caller whose secret has ended.
    fn not_ended(self, now: DateTime<Utc>) -> Result<Self, Error> {
        if self.until.is_some_and(|until| until <= now) {
            return Err(Error::Unauthenticated(
                "the key has expired, or was rotated and this is its old secret; ask the owner for the new one",
            ));
        }
        Ok(self)
    }

    /// Refuses a caller whose role does not cover `needs`.
    ///
    /// # Errors
    /// [`Error::Forbidden`].
    pub fn require(self, needs: Role) -> Result<Self, Error> {
        if self.role >= needs {
            return Ok(self);
        }
        Err(Error::Forbidden {
            has: self.role.as_str(),
            needs: needs.as_str(),
        })
    }
}

/// The keys that work, as last read.
#[derive(Debug, Default)]
pub struct Keys {
    known: RwLock<Option<Known>>,
}

/// What a look at the keys gives.
enum Found {
    Known(Caller),
    Unknown,
    /// They must be read again.
    Stale,
}

#[derive(Debug)]
struct Known {
    callers: HashMap<String, Caller>,
    read_at: DateTime<Utc>,
}

impl Keys {
    /// The caller of that hash, if the keys were read lately.
    fn find(&self, hash: &str, now: DateTime<Utc>) -> Found {
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
        match known
            .as_ref()
            .filter(|known| (now - known.read_at).abs() < FRESH)
        {
            None => Found::Stale,
            Some(known) => known
                .callers
                .get(hash)
                .map_or(Found::Unknown, |found| Found::Known(*found)),
        }
    }

    fn put(&self, callers: HashMap<String, Caller>, read_at: DateTime<Utc>) {
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        *known = Some(Known { callers, read_at });
    }

    fn forget(&self) {
        *self.known.write().unwrap_or_else(PoisonError::into_inner) = None;
    }
}

/// The hash under which a secret is kept. A secret has 256 random bits, so it needs no slow hash.
fn hash(secret: &str) -> String {
    HEXLOWER.encode(&Sha256::digest(secret.as_bytes()))
}

/// Who has that secret. The look-up is by hash, so its timing tells nothing about a secret.
pub async fn authenticate(context: &Context, secret: &str) -> Result<Caller, Error> {
    let unknown = Error::Unauthenticated("the key is unknown or revoked; ask the owner for one");
    let (hash, now) = (hash(secret), context.clock.now());
    match context.keys.find(&hash, now) {
        Found::Known(caller) => return caller.not_ended(now),
        Found::Unknown => return Err(unknown),
        Found::Stale => {}
    }
    let rows = store::keys::working(context.store.read()).await?;
    let callers: HashMap<String, Caller> = rows.into_iter().flat_map(secrets).collect();
    let found = callers.get(&hash).copied();
    context.keys.put(callers, now);
    found.ok_or(unknown)?.not_ended(now)
}

/// The secrets that stand for a key, by their hashes: its own, and for a while the one before.
fn secrets(row: keys::Model) -> impl Iterator<Item = (String, Caller)> {
    let role = Role::parse(&row.role);
    let caller = move |until: Option<i64>| {
        let until = until.map(instant::from_micros);
        let key = Some(row.id);
        role.map(|role| Caller { key, role, until })
    };
    let old_until = row
        .old_works_until
        .map(|old| row.expires_at.map_or(old, |end| end.min(old)));
    let old = row
        .old_hash
        .zip(caller(old_until).filter(|_| old_until.is_some()));
    caller(row.expires_at)
        .map(|caller| (row.hash, caller))
        .into_iter()
        .chain(old)
}

/// Makes a key.
pub async fn create(context: &Context, new: NewKey) -> Result<CreatedKey, Error> {
    make(context, new, false).await?.ok_or(Error::Unavailable)
}

/// Makes a key, or none if there is one already and it was to be the `first`: that is looked for where it
/// is made, since two processes may start together.
async fn make(context: &Context, new: NewKey, first: bool) -> Result<Option<CreatedKey>, Error> {
    new.check()?;
    let now = context.clock.now();
    check_to_come(new.expires_at, now)?;
    let secret = secret()?;
    let row = keys::ActiveModel {
        id: Set(Uuid::now_v7()),
        name: Set(new.name),
        role: Set(new.role.as_str().to_owned()),
        hash: Set(hash(&secret)),
        prefix: Set(secret.chars().take(SHOWN).collect()),
        created_at: Set(now.timestamp_micros()),
        revoked_at: Set(None),
        expires_at: Set(new.expires_at.map(|at| at.timestamp_micros())),
        old_hash: Set(None),
        old_works_until: Set(None),
    };
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            if first && store::keys::count(tx).await? > 0 {
                return Ok(None);
            }
            Ok(Some(store::keys::insert(tx, row).await?))
        })
    });
    let row = write.await?;
    context.keys.forget();
    Ok(row.map(|row| CreatedKey {
        key: view(row, now),
        secret,
    }))
}

/// Refuses an end that is past.
fn check_to_come(expires_at: Option<DateTime<Utc>>, now: DateTime<Utc>) -> Result<(), Error> {
    let Some(past) = expires_at.filter(|at| *at <= now) else {
        return Ok(());
    };
    let why = format!(
        "{past} is past; give an instant to come, or leave it out for a key that does not expire"
    );
    Err(Error::invalid("/expires_at", why))
}

fn secret() -> Result<String, Error> {
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes)
        .map_err(|error| Error::Internal(format!("no random numbers: {error}")))?;
    Ok(format!("{PREFIX}{}", HEXLOWER.encode(&bytes)))
}

/// Makes the owner's key if there is no key at all: at the first start.
pub async fn create_first(context: &Context) -> Result<Option<CreatedKey>, Error> {
    let owner = NewKey {
        name: "owner".to_owned(),
        role: Role::Own,
        expires_at: None,
    };
    make(context, owner, true).await
}

/// A page of keys.
pub async fn list(context: &Context, page: &Page) -> Result<KeyPage, Error> {
    let now = context.clock.now();
    let after = page.after.as_deref().map(cursor).transpose()?;
    let rows = store::keys::list(context.store.read(), after, page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.id.to_string());
    Ok(KeyPage {
        keys: rows.into_iter().map(|row| view(row, now)).collect(),
        next,
    })
}

/// Revokes a key. It stays on record; revoking it twice changes nothing. The last owner's key that does not expire
/// stays, since nobody could make another.
pub async fn revoke(context: &Context, id: &str) -> Result<Key, Error> {
    let missing = || Error::NotFound {
        kind: "key",
        key: id.to_owned(),
    };
    let id: Uuid = id.parse().map_err(|_| missing())?;
    let present = context.clock.now();
    let now = present.timestamp_micros();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let Some(row) = store::keys::find(tx, id).await? else {
                return Ok(None);
            };
            let lasts = |key: &&keys::Model| {
                key.role == Role::Own.as_str()
                    && key.expires_at.is_none()
                    && key.revoked_at.is_none()
            };
            let owners = store::keys::working(tx).await?;
            if lasts(&&row) && owners.iter().filter(lasts).count() == 1 {
                let why = "it is the only owner's key that does not expire; make another one first";
                return Err(Error::WrongState(why.to_owned()));
            }
            store::keys::revoke(tx, id, now).await?;
            Ok(store::keys::find(tx, id).await?)
        })
    });
    let row = write.await?;
    context.keys.forget();
    row.map(|row| view(row, present)).ok_or_else(missing)
}

fn view(row: keys::Model, now: DateTime<Utc>) -> Key {
    let expires_at = row.expires_at.map(instant::from_micros);
    let old_works_until = row.old_works_until.map(instant::from_micros);
    let is_revoked = row.revoked_at.is_some();
    Key {
        expires_at,
        old_works_until: old_works_until.filter(|until| *until > now && !is_revoked),
        says: expires_at
            .filter(|_| !is_revoked)
            .and_then(|at| says(at, now)),
        id: row.id,
        name: row.name,
        role: Role::parse(&row.role).unwrap_or(Role::Read),
        prefix: row.prefix,
        created_at: instant::from_micros(row.created_at),
        revoked_at: row.revoked_at.map(instant::from_micros),
    }
}

/// What is to be done about the end of a key.
fn says(expires_at: DateTime<Utc>, now: DateTime<Utc>) -> Option<String> {
    let at = expires_at.to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
    if expires_at <= now {
        return Some(format!(
            "It expired at {at}; rotate it with a later end, or revoke it."
        ));
    }
    (expires_at - now < SOON)
        .then(|| format!("It works until {at}; rotate it with a later end before then."))
}

/// The id in a cursor.
///
/// # Errors
/// A violation of `?after`.
pub fn cursor(after: &str) -> Result<Uuid, Error> {
    after.parse().map_err(|_| {
        Error::invalid(
            "?after",
            format!("\"{after}\" is not the next of a page; start without it"),
        )
    })
}
