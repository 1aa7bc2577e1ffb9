//! What can go wrong at the database, told in a few kinds that every back end shares.

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
    /// The disk has no room, or fails.
    #[error("the disk is full or fails")]
    Disk(#[source] DbErr),
    /// The file may be read only.
    #[error("the database may only be read")]
    ReadOnly(#[source] DbErr),
    /// Anything else: a fault of ours.
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
        match code(&error) {
            // BUSY and LOCKED, and CANTOPEN.
            Some(5 | 6 | 14) => Self::Unavailable(error),
            // IOERR and FULL.
            Some(10 | 13) => Self::Disk(error),
            Some(8) => Self::ReadOnly(error),
            _ if matches!(error, DbErr::ConnectionAcquire(_) | DbErr::Conn(_)) => {
                Self::Unavailable(error)
            }
            _ => Self::Internal(error),
        }
    }
}

/// SQLite's primary result code, which stands in the lowest byte of an extended one.
fn code(error: &DbErr) -> Option<i64> {
    let (DbErr::Exec(RuntimeErr::SqlxError(cause))
    | DbErr::Query(RuntimeErr::SqlxError(cause))
    | DbErr::Conn(RuntimeErr::SqlxError(cause))) = error
    else {
        return None;
    };
    let code = cause.as_database_error().and_then(DatabaseError::code)?;
    code.parse::<i64>().ok().map(|code| code & 0xff)
}
