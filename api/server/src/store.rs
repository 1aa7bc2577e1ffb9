//! The database: one handle that writes and a pool that reads. This file and the folder below it
//! are the only place that knows what kind of database it is.

use std::sync::Arc;

use sea_orm::{
    ConnectionTrait, DatabaseConnection, DatabaseTransaction, DbBackend, EntityTrait, Select,
    TransactionTrait,
};
use tokio::sync::{Mutex, watch};

pub mod entity;
mod error;

mod coded;
mod connection;

pub mod borrowings;
pub mod counts;
pub mod courses;
pub mod current_bands;
pub mod deliveries;
pub mod digests;
pub mod drawers;
pub mod entries;
pub mod equivalences;
pub mod events;
pub mod file;
pub mod jobs;
pub mod keys;
pub mod kits;
pub mod levels;
pub mod link_keys;
pub mod location;
pub mod lulls;
pub mod mail_addresses;
pub mod movements;
pub mod offers;
pub mod orders;
pub mod parts;
pub mod past;
pub mod photos;
pub mod procedure_revisions;
pub mod procedures;
pub mod questions;
pub mod replies;
pub mod seats;
pub mod sites;
pub mod stubs;
pub mod suppliers;
pub mod tables;
pub mod target;
pub mod term_changes;
pub mod torch_wear;
pub mod torches;
pub mod warnings;
pub mod watches;
pub mod wear;
pub mod wear_currents;
pub mod wear_days;
pub mod webhooks;
pub mod work;

pub use error::Error;
pub use location::Location;

/// How many rows one statement may insert: SQLite takes 32 766 parameters,
/// PostgreSQL twice as many, and the widest row has 25.
pub(crate) const ROWS_PER_INSERT: usize = 500;

/// The database.
#[derive(Clone, Debug)]
pub struct Store {
    location: Arc<Location>,
    read: DatabaseConnection,
    /// None after a transaction was lost, until the next one begins.
    write: Arc<Mutex<Option<DatabaseConnection>>>,
}

impl Store {
    /// Opens the database, makes a file if it is not there, and brings the schema up to date.
    ///
    /// # Errors
    /// The database cannot be opened or made, or a migration fails.
    pub async fn open(location: impl Into<Location>) -> Result<Self, Error> {
        let location = location.into();
        connection::migrate(&location).await?;
        let write = connection::to_write(&location).await?;
        Ok(Self {
            read: connection::to_read(&location).await?,
            location: Arc::new(location),
            write: Arc::new(Mutex::new(Some(write))),
        })
    }

    /// Where it is.
    pub fn location(&self) -> &Location {
        &self.location
    }

    /// Where reads go. Each sees everything that was acknowledged before it began.
    pub fn read(&self) -> &DatabaseConnection {
        &self.read
    }

    /// Whether this process alone writes the database, so that what it remembers cannot grow old behind its back: a
    /// SQLite file is locked for one process, a database server is not.
    pub fn is_alone(&self) -> bool {
        self.read.get_database_backend() == DbBackend::Sqlite
    }

    /// Begins the write transaction. There is one at a time: it takes the write lock at once, since
    /// a transaction that reads first and writes later would lose to any other writer.
    ///
    /// # Errors
    /// The database is busy or away.
    pub async fn begin(&self) -> Result<DatabaseTransaction, Error> {
        let mut write = self.write.lock().await;
        Ok(connection::begin(&self.location, &mut write).await?)
    }

    /// Tells `tells` whenever another process wrote, until nobody listens to it any more.
    pub async fn follow(&self, tells: watch::Sender<()>) {
        connection::follow(&self.location, tells).await;
    }

    /// Gives up the connection that writes, with whatever is open on it; the next transaction begins
    /// on a fresh one. SQLite may roll back a whole transaction by itself, on a full or failing disk,
    /// and leaves its connection outside the transaction that its driver believes to be open.
    ///
    /// # Errors
    /// The connection cannot be closed.
    pub async fn give_up_writing(&self) -> Result<(), Error> {
        match self.write.lock().await.take() {
            Some(connection) => Ok(connection.close().await?),
            None => Ok(()),
        }
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
        // The closed connection stays, so that no write begins any more.
        match &*self.write.lock().await {
            Some(connection) => Ok(connection.close_by_ref().await?),
            None => Ok(()),
        }
    }
}

/// The row of a question that names a unique key, if there is one.
///
/// Not sea-orm's `one`: it binds a limit, and SQLite looks at a bound limit when it plans, so that it
/// plans the statement anew each time.
pub(crate) async fn only<E: EntityTrait>(
    db: &impl ConnectionTrait,
    question: Select<E>,
) -> Result<Option<E::Model>, Error> {
    Ok(question.all(db).await?.pop())
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

/// Ends a savepoint: keeps what was written in it, or undoes it.
///
/// # Errors
/// There is no such savepoint any more: the transaction around it is lost.
pub async fn end(savepoint: DatabaseTransaction, keep: bool) -> Result<(), Error> {
    let ended = if keep {
        savepoint.commit().await
    } else {
        savepoint.rollback().await
    };
    Ok(ended?)
}
