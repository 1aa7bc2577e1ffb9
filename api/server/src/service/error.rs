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
    /// The name is taken, or what only one can have.
    #[error("{kind} {key} is already there; change it, or {remedy}")]
    AlreadyExists {
        /// The noun.
        kind: &'static str,
        /// The name.
        key: String,
        /// What else to do.
        remedy: &'static str,
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
    /// Nothing can be written.
    #[error("{why}")]
    CannotWrite {
        /// Why, and what to do.
        why: CannotWrite,
        /// What the database said, unless the log has it already.
        #[source]
        cause: Option<store::Error>,
    },
    /// The database failed.
    #[error("the database failed")]
    Store(#[source] store::Error),
    /// A fault of ours.
    #[error("{0}")]
    Internal(String),
}

/// Why nothing can be written, though it may still be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ThisError)]
pub enum CannotWrite {
    /// The disk has no room, or fails.
    #[error(
        "the service cannot write: its disk is full or fails. Nothing was recorded. Make room on that \
         disk, and see the service's log if there is room; then repeat the request with the same key"
    )]
    Disk,
    /// The file may be read only.
    #[error(
        "the service cannot write: its database may only be read. Nothing was recorded. Let the \
         account of the service write the file and its folder; then repeat the request with the same key"
    )]
    ReadOnly,
}

impl CannotWrite {
    /// What a failure of the store means for whoever wants to write, if it means that.
    pub fn of(error: &store::Error) -> Option<Self> {
        match error {
            store::Error::Disk(_) => Some(Self::Disk),
            store::Error::ReadOnly(_) => Some(Self::ReadOnly),
            store::Error::Conflict
            | store::Error::Reference
            | store::Error::Unavailable(_)
            | store::Error::Internal(_) => None,
        }
    }
}

impl From<CannotWrite> for Error {
    fn from(why: CannotWrite) -> Self {
        Self::CannotWrite { why, cause: None }
    }
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
        if let Some(why) = CannotWrite::of(&error) {
            let cause = Some(error);
            return Self::CannotWrite { why, cause };
        }
        match error {
            store::Error::Unavailable(_) => Self::Unavailable,
            store::Error::Conflict
            | store::Error::Reference
            | store::Error::Disk(_)
            | store::Error::ReadOnly(_)
            | store::Error::Internal(_) => Self::Store(error),
        }
    }
}
