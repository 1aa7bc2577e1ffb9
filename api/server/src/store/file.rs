//! The database as a file: looked at without changing it, checked, copied while it is in use, made
//! anew with the first steps of the schema. What a copy is for, and where it goes, is not here.

use std::path::Path;
use std::time::Duration;

use migrations::{Migrator, MigratorTrait};
use sea_orm::sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode};
use sea_orm::sqlx::{self, ConnectOptions, Connection, SqliteConnection};
use sea_orm::{Database, DbErr};
use thiserror::Error;

use super::Error as StoreError;

/// How long to wait for whoever holds the database.
const PATIENCE: Duration = Duration::from_secs(5);

/// Why a file cannot be relied on.
#[derive(Debug, Error)]
pub enum Unsound {
    /// It cannot be read as a database.
    #[error("it cannot be read as a database")]
    Unreadable(#[from] sqlx::Error),
    /// SQLite finds it damaged.
    #[error("it is damaged: {0}")]
    Damaged(String),
    /// A row refers to one that is not there.
    #[error(
        "{count} rows refer to rows that are not there, the first of them in the table {table}"
    )]
    Dangling {
        /// How many.
        count: usize,
        /// The table of the first.
        table: String,
    },
    /// It has none of our tables.
    #[error("it is a database, but not one of tigstock")]
    Foreign,
    /// It has steps of the schema that this program does not know.
    #[error("it was written by a newer version, which has {0}; use that version, or a newer one")]
    Newer(String),
}

/// What is in a file that can be relied on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// How many entries the ledger has.
    pub entries: i64,
    /// When the newest of them was received, in microseconds.
    pub newest: Option<i64>,
    /// The last step of its schema.
    pub step: String,
}

/// Opens a database that is there, to read it. Not as one that may only be read: what SQLite keeps
/// beside it would be left there.
///
/// # Errors
/// It cannot be opened.
pub async fn open_to_read(path: &Path) -> Result<SqliteConnection, sqlx::Error> {
    plain(path).connect().await
}

/// Opens a database file to write rows as they are: no reference is checked until the end.
///
/// # Errors
/// It cannot be opened.
pub async fn open_to_fill(path: &Path) -> Result<SqliteConnection, sqlx::Error> {
    plain(path).foreign_keys(false).connect().await
}

fn plain(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(false)
        .busy_timeout(PATIENCE)
        .disable_statement_logging()
}

/// Reads a whole file and says what is in it, or why it cannot be relied on.
///
/// # Errors
/// [`Unsound`].
pub async fn check(path: &Path) -> Result<Found, Unsound> {
    let mut db = open_to_read(path).await?;
    let found = check_in(&mut db).await;
    db.close().await?;
    found
}

async fn check_in(db: &mut SqliteConnection) -> Result<Found, Unsound> {
    let step = last_step(db).await?;
    let damage: Vec<String> = sqlx::query_scalar("PRAGMA integrity_check(3)")
        .fetch_all(&mut *db)
        .await?;
    if damage != ["ok"] {
        return Err(Unsound::Damaged(damage.join("; ")));
    }
    let dangling = dangling(db).await?;
    if let Some(first) = dangling.first() {
        return Err(Unsound::Dangling {
            count: dangling.len(),
            table: first.table.clone(),
        });
    }
    let (entries, newest) = sqlx::query_as("SELECT count(*), max(received_at) FROM entries")
        .fetch_one(db)
        .await?;
    Ok(Found {
        entries,
        newest,
        step,
    })
}

/// The last step of the schema of a database, which this program must know.
///
/// # Errors
/// [`Unsound::Foreign`], [`Unsound::Newer`], or it cannot be read.
pub async fn last_step(db: &mut SqliteConnection) -> Result<String, Unsound> {
    let ours = "SELECT count(*) FROM sqlite_schema WHERE name IN ('seaql_migrations', 'entries')";
    let ours: i64 = sqlx::query_scalar(ours).fetch_one(&mut *db).await?;
    if ours != 2 {
        return Err(Unsound::Foreign);
    }
    let steps: Vec<String> =
        sqlx::query_scalar("SELECT version FROM seaql_migrations ORDER BY version")
            .fetch_all(db)
            .await?;
    match steps.iter().find(|step| number_of(step).is_none()) {
        Some(unknown) => Err(Unsound::Newer(unknown.clone())),
        None => steps.last().cloned().ok_or(Unsound::Foreign),
    }
}

/// The number of a step of the schema, from 1, if this program knows it.
pub fn number_of(step: &str) -> Option<u32> {
    let steps = Migrator::migrations();
    let found = steps.iter().position(|known| known.name() == step)?;
    u32::try_from(found + 1).ok()
}

/// Whether a step of the schema is the last that this program knows.
pub fn is_newest(step: &str) -> bool {
    let steps = Migrator::migrations();
    steps.last().is_some_and(|known| known.name() == step)
}

/// A row that refers to one that is not there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dangling {
    /// The table of the row.
    pub table: String,
    /// Where it is in that table.
    pub rowid: Option<i64>,
    /// The table that it refers to.
    pub parent: String,
    /// Which of the references of its table.
    pub fkid: i64,
}

/// The rows that refer to rows that are not there.
///
/// # Errors
/// The database cannot be read.
pub async fn dangling(db: &mut SqliteConnection) -> Result<Vec<Dangling>, sqlx::Error> {
    let rows: Vec<(String, Option<i64>, String, i64)> =
        sqlx::query_as("SELECT \"table\", rowid, parent, fkid FROM pragma_foreign_key_check")
            .fetch_all(db)
            .await?;
    let rows = rows
        .into_iter()
        .map(|(table, rowid, parent, fkid)| Dangling {
            table,
            rowid,
            parent,
            fkid,
        });
    Ok(rows.collect())
}

/// The size of a database by its pages, in bytes: what a copy will have at most.
///
/// # Errors
/// The database cannot be read.
pub async fn size(db: &mut SqliteConnection) -> Result<u64, sqlx::Error> {
    let size = "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size";
    let size: i64 = sqlx::query_scalar(size).fetch_one(db).await?;
    Ok(u64::try_from(size).unwrap_or(0))
}

/// Writes a copy, as the database is at this moment, into an empty file. Others go on reading and
/// writing meanwhile.
///
/// # Errors
/// The database cannot be read, or the copy not written.
pub async fn copy_into(db: &mut SqliteConnection, to: &str) -> Result<(), sqlx::Error> {
    sqlx::query("VACUUM INTO ?").bind(to).execute(db).await?;
    Ok(())
}

/// Folds the write-ahead log of a database that nobody uses into its file.
///
/// # Errors
/// Somebody uses it, or it is damaged.
pub async fn fold(path: &Path) -> Result<(), sqlx::Error> {
    let mut db = plain(path)
        .journal_mode(SqliteJournalMode::Delete)
        .connect()
        .await?;
    sqlx::query("SELECT count(*) FROM sqlite_schema")
        .execute(&mut db)
        .await?;
    db.close().await
}

/// Makes the tables of the first so many steps of the schema in an empty file.
///
/// # Errors
/// The file cannot be written.
pub async fn lay_down(path: &Path, steps: u32) -> Result<(), StoreError> {
    let db = Database::connect(super::connection::file_options(path, 1)).await?;
    let made: Result<(), DbErr> = Migrator::up(&db, Some(steps)).await;
    db.close().await?;
    Ok(made?)
}
