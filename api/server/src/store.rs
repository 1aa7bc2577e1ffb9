//! The database: one handle that writes and a pool that reads. This file and the folder below it
//! are the only place that knows what kind of database it is.

use std::path::Path;
use std::time::Duration;

use migrations::{Migrator, MigratorTrait};
use sea_orm::sqlx::sqlite::{SqliteJournalMode, SqliteSynchronous};
use sea_orm::{
    ConnectOptions, ConnectionTrait, Database, DatabaseConnection, DatabaseTransaction,
    SqliteTransactionMode, TransactionOptions, TransactionTrait,
};

pub mod entity;
mod error;

mod coded;

pub mod counts;
pub mod entries;
pub mod jobs;
pub mod keys;
pub mod kits;
pub mod levels;
pub mod movements;
pub mod offers;
pub mod orders;
pub mod parts;
pub mod replies;
pub mod sites;
pub mod suppliers;
pub mod torches;
pub mod wear;

pub use error::Error;

/// Connections that read at once; a read takes far less than a millisecond, so a few serve many.
const READERS: u32 = 4;

/// How many rows one statement may insert: SQLite takes 32 766 parameters, the widest row has 25.
pub(crate) const ROWS_PER_INSERT: usize = 500;

/// The database.
#[derive(Clone, Debug)]
pub struct Store {
    read: DatabaseConnection,
    write: DatabaseConnection,
}

impl Store {
    /// Opens the SQLite file, makes it if it is not there, and brings its schema up to date.
    ///
    /// # Errors
    /// The file cannot be opened or made, or a migration fails.
    pub async fn open(path: &Path) -> Result<Self, Error> {
        let write = Database::connect(options(path, 1)).await?;
        Migrator::up(&write, None).await?;
        let read = Database::connect(options(path, READERS)).await?;
        Ok(Self { read, write })
    }

    /// Where reads go. Each sees everything that was acknowledged before it began.
    pub fn read(&self) -> &DatabaseConnection {
        &self.read
    }

    /// Begins the write transaction. There is one at a time: it takes the write lock at once, since
    /// a transaction that reads first and writes later would lose to any other writer.
    ///
    /// # Errors
    /// The database is busy or away.
    #[expect(
        clippy::disallowed_methods,
        reason = "the one place that begins a transaction"
    )]
    pub async fn begin(&self) -> Result<DatabaseTransaction, Error> {
        let options = TransactionOptions {
            sqlite_transaction_mode: Some(SqliteTransactionMode::Immediate),
            ..TransactionOptions::default()
        };
        Ok(self.write.begin_with_options(options).await?)
    }

    /// Whether the database answers.
    ///
    /// # Errors
    /// It does not.
    pub async fn ping(&self) -> Result<(), Error> {
        Ok(self.read.execute_unprepared("SELECT 1").await.map(|_| ())?)
    }

    /// Closes all connections, so that the write-ahead log is folded into the file.
    ///
    /// # Errors
    /// A connection cannot be closed.
    pub async fn close(self) -> Result<(), Error> {
        self.read.close().await?;
        Ok(self.write.close().await?)
    }
}

/// Begins a savepoint inside the write transaction, so that what fails in it harms nothing else.
///
/// # Errors
/// The database is away.
#[expect(
    clippy::disallowed_methods,
    reason = "a savepoint, not a transaction of its own"
)]
pub async fn savepoint(tx: &DatabaseTransaction) -> Result<DatabaseTransaction, Error> {
    Ok(tx.begin().await?)
}

fn options(path: &Path, connections: u32) -> ConnectOptions {
    let mut options = ConnectOptions::new(format!("sqlite://{}", path.display()));
    options
        .max_connections(connections)
        .min_connections(1)
        .acquire_timeout(Duration::from_secs(5))
        .sqlx_logging(false)
        .test_before_acquire(false)
        .map_sqlx_sqlite_opts({
            let path = path.to_owned();
            move |sqlite| {
                sqlite
                    .filename(&path)
                    .create_if_missing(true)
                    .journal_mode(SqliteJournalMode::Wal)
                    .synchronous(SqliteSynchronous::Full)
                    .busy_timeout(Duration::from_secs(5))
                    .foreign_keys(true)
                    .pragma("cache_size", "-16000")
            }
        });
    options
}
