//! What can go wrong at the database, told in a few kinds that every back end shares.

use sea_orm::sqlx;
use sea_orm::sqlx::error::DatabaseError;
use sea_orm::sqlx::sqlite::SqliteError;
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
        match fault(&error) {
            Some(Fault::Away) => Self::Unavailable(error),
            Some(Fault::Disk) => Self::Disk(error),
            Some(Fault::ReadOnly) => Self::ReadOnly(error),
            None => Self::Internal(error),
        }
    }
}

/// What may be wrong with a database, rather than with a statement.
enum Fault {
    Away,
    Disk,
    ReadOnly,
}

fn fault(error: &DbErr) -> Option<Fault> {
    if is_cut(error) {
        return Some(Fault::Away);
    }
    let told = told(error)?;
    let code = told.code()?;
    if told.try_downcast_ref::<SqliteError>().is_some() {
        return of_file(&code);
    }
    of_server(&code)
}

/// By SQLite's primary result code, which stands in the lowest byte of an extended one.
fn of_file(code: &str) -> Option<Fault> {
    match code.parse::<i64>().ok()? & 0xff {
        // BUSY and LOCKED, and CANTOPEN.
        5 | 6 | 14 => Some(Fault::Away),
        // IOERR and FULL.
        10 | 13 => Some(Fault::Disk),
        8 => Some(Fault::ReadOnly),
        _ => None,
    }
}

/// By the code of SQL, as appendix A of the manual of PostgreSQL has them.
fn of_server(code: &str) -> Option<Fault> {
    match code {
        "53100" | "58030" => Some(Fault::Disk),
        "25006" => Some(Fault::ReadOnly),
        // Serialization failure, deadlock, no lock in time, a statement or a session that was broken off.
        "40001" | "40P01" | "55P03" | "57014" | "25P03" => Some(Fault::Away),
        // No memory or no connection left.
        _ if code.starts_with("53") => Some(Fault::Away),
        _ => None,
    }
}

/// Whether the connection ended or could not be made: nothing can be said on it any more.
pub(super) fn is_cut(error: &DbErr) -> bool {
    if matches!(error, DbErr::ConnectionAcquire(_) | DbErr::Conn(_)) {
        return true;
    }
    let (DbErr::Exec(RuntimeErr::SqlxError(cause)) | DbErr::Query(RuntimeErr::SqlxError(cause))) =
        error
    else {
        return false;
    };
    if matches!(
        **cause,
        sqlx::Error::Io(_) | sqlx::Error::PoolTimedOut | sqlx::Error::PoolClosed
    ) {
        return true;
    }
    // The server said that it ends the connection: it is lost (class 08), or the server stops or starts.
    let code = told(error).and_then(DatabaseError::code);
    code.is_some_and(|code| code.len() == 5 && (code.starts_with("08") || code.starts_with("57P0")))
}

/// What the database said.
fn told(error: &DbErr) -> Option<&dyn DatabaseError> {
    let (DbErr::Exec(RuntimeErr::SqlxError(cause))
    | DbErr::Query(RuntimeErr::SqlxError(cause))
    | DbErr::Conn(RuntimeErr::SqlxError(cause))) = error
    else {
        return None;
    };
    cause.as_database_error()
}
