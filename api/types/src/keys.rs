//! Keys: who may call, and what for.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::{Checker, Violation};

/// What a key may do. Each role covers the ones before it.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Read everything but keys.
    Read,
    /// Also record usage, movements and counts.
    Log,
    /// Also keep stock, parts, orders and jobs.
    Keep,
    /// Also keys and sites.
    Own,
}

impl Role {
    /// All roles, least first.
    pub const ALL: [Self; 4] = [Self::Read, Self::Log, Self::Keep, Self::Own];

    /// The word on the wire.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Log => "log",
            Self::Keep => "keep",
            Self::Own => "own",
        }
    }

    /// The role of that name.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.as_str() == word)
    }
}

/// A key to be made.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewKey {
    /// Who or what will use it, up to 80 characters.
    #[schema(example = "phone at the bench", max_length = 80)]
    pub name: String,
    /// What it may do.
    pub role: Role,
    /// From when on it works no more; it does not expire unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expires_at: Option<DateTime<Utc>>,
}

impl NewKey {
    /// Checks the name.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.text("name", Some(&self.name), 80);
        if self.name.trim().is_empty() {
            checker.note("name", "is empty; say who or what will use the key");
        }
        checker.finish()
    }
}

/// A key, without its secret.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Key {
    /// Names the key in paths.
    pub id: Uuid,
    /// Who or what uses it.
    pub name: String,
    /// What it may do.
    pub role: Role,
    /// The first characters of the secret, to tell keys apart.
    pub prefix: String,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// From when on it works no more; absent if it does not expire.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expires_at: Option<DateTime<Utc>>,
    /// Until when the secret from before the last rotation works; absent once it does not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub old_works_until: Option<DateTime<Utc>>,
    /// What is to be done about it: absent when nothing is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "It works until 2026-07-01T00:00:00Z; rotate it before then.")]
    pub says: Option<String>,
    /// When it was revoked; absent while it works.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revoked_at: Option<DateTime<Utc>>,
}

/// A key that was just made, with its secret: the only time that the secret is shown.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct CreatedKey {
    /// The key.
    #[serde(flatten)]
    pub key: Key,
    /// Send it as `Authorization: Bearer <secret>`. It is kept as a hash only: store it now.
    pub secret: String,
}

/// How a key is to be rotated.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewRotation {
    /// Until when the old secret works as well, at most 30 days from now; a day unless told. An instant that is past
    /// ends it at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub old_works_until: Option<DateTime<Utc>>,
    /// From when on the key works no more; as before unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expires_at: Option<DateTime<Utc>>,
}

/// A page of keys.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct KeyPage {
    /// The keys, oldest first.
    pub keys: Vec<Key>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a key.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct KeyPath {
    /// The id of the key.
    pub key: String,
}
