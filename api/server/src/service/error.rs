//! What a use case can fail with. It knows no status codes: `http::error` translates.

use thiserror::Error as ThisError;
use types::Violation;

use crate::store;

/// A failure of a use case.
#[derive(Debug, ThisError)]
pub enum Error {
    /// No such thing.
    #[error("there is no {kind} {key}")]
    NotFound {
        /// The noun.
        kind: &'static str,
        /// What was asked for.
        key: String,
    },
    /// The name is taken.
    #[error("{kind} {key} is already there; change it, or choose another code")]
    AlreadyExists {
        /// The noun.
        kind: &'static str,
        /// The name.
        key: String,
    },
    /// Something refers to it.
    #[error("{kind} {key} is in use; {remedy}")]
    InUse {
        /// The noun.
        kind: &'static str,
        /// The name.
        key: String,
        /// What to do.
        remedy: &'static str,
    },
    /// The state does not allow it.
    #[error("{0}")]
    WrongState(String),
    /// It has changed since it was read.
    #[error("{kind} {key} is at version {version} now; read it again and repeat the edit")]
    Stale {
        /// The noun.
        kind: &'static str,
        /// The name.
        key: String,
        /// Its version now.
        version: i64,
    },
    /// The request breaks a rule.
    #[error("{}", told(.0))]
    Invalid(Vec<Violation>),
    /// Quantities add up beyond what can be kept.
    #[error("the quantities add up beyond what can be kept; check them")]
    Overflow,
    /// The idempotency key came before with another body.
    #[error("the idempotency key \"{0}\" was used for another request; use a new key")]
    KeyReused(String),
    /// No key, or one that does not work.
    #[error("{0}")]
    Unauthenticated(&'static str),
    /// The role does not cover it.
    #[error("the key has the role {has}, this needs {needs}; ask the owner for such a key")]
    Forbidden {
        /// The role of the key.
        has: &'static str,
        /// The role that is needed.
        needs: &'static str,
    },
    /// The database is busy or away, or the service stops.
    #[error("the service is busy or stopping; repeat the request with the same key")]
    Unavailable,
    /// The database failed.
    #[error("the database failed")]
    Store(#[source] store::Error),
    /// A fault of ours.
    #[error("{0}")]
    Internal(String),
}

fn told(violations: &[Violation]) -> String {
    let told: Vec<String> = violations
        .iter()
        .map(|v| format!("{}: {}", v.pointer, v.detail))
        .collect();
    told.join("; ")
}

impl Error {
    /// One violation.
    pub fn invalid(pointer: impl Into<String>, detail: impl std::fmt::Display) -> Self {
        Self::Invalid(vec![Violation::new(pointer, detail)])
    }

    /// Violations of a query rather than of a body.
    pub fn in_query(violations: Vec<Violation>) -> Self {
        let moved = violations.into_iter().map(|told| Violation {
            pointer: told.pointer.replacen('/', "?", 1),
            ..told
        });
        Self::Invalid(moved.collect())
    }
}

impl From<Vec<Violation>> for Error {
    fn from(violations: Vec<Violation>) -> Self {
        Self::Invalid(violations)
    }
}

impl From<store::Error> for Error {
    fn from(error: store::Error) -> Self {
        match error {
            store::Error::Unavailable(_) => Self::Unavailable,
            store::Error::Conflict | store::Error::Reference | store::Error::Internal(_) => {
                Self::Store(error)
            }
        }
    }
}
