//! What can go wrong at the database, told in four kinds that every back end shares.

use sea_orm::sqlx::error::DatabaseError;
use sea_orm::{DbErr, RuntimeErr, SqlErr};
use thiserror::Error;

/// A failure of the database.
#[derive(Debug, Error)]
pub enum Error {
    /// A unique rule was broken.
    #[error("a row with that key exists")]
    Conflict,
    /// A reference points to nothing, or something still refers to the row.
    #[error("a reference is broken")]
    Reference,
    /// The database is busy or away.
    #[error("the database is busy or away")]
    Unavailable(#[source] DbErr),
    /// Anything else: a fault of ours, or a full or broken disk.
    #[error("the database failed")]
    Internal(#[source] DbErr),
}

impl From<DbErr> for Error {
    fn from(error: DbErr) -> Self {
        match error.sql_err() {
            Some(SqlErr::UniqueConstraintViolation(_)) => return Self::Conflict,
            Some(SqlErr::ForeignKeyConstraintViolation(_)) => return Self::Reference,
            Some(_) | None => {}
        }
        if matches!(error, DbErr::ConnectionAcquire(_) | DbErr::Conn(_)) || is_busy(&error) {
            Self::Unavailable(error)
        } else {
            Self::Internal(error)
        }
    }
}

/// SQLite's primary result codes BUSY (5) and LOCKED (6), which come with extended codes above them.
fn is_busy(error: &DbErr) -> bool {
    let (DbErr::Exec(RuntimeErr::SqlxError(cause)) | DbErr::Query(RuntimeErr::SqlxError(cause))) =
        error
    else {
        return false;
    };
    cause
        .as_database_error()
        .and_then(DatabaseError::code)
        .and_then(|code| code.parse::<i64>().ok())
        .is_some_and(|code| matches!(code & 0xff, 5 | 6))
}
