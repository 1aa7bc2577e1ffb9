//! Connections: how each kind of database is connected to, brought up to date and written to. Only here
//! is one told from the other; the queries are the same on both.
//!
//! SQLite lets one writer in by itself, if it asks at once. On PostgreSQL every write transaction begins
//! with one advisory lock, so that all processes take turns: what a transaction reads after that is what
//! every one before it left, and no two of them ever fail for each other's sake. A lock that is of the
//! transaction goes with it, however its process ends.

use std::path::Path;
use std::time::Duration;

use migrations::{Migrator, MigratorTrait};
use sea_orm::sqlx::postgres::PgListener;
use sea_orm::sqlx::sqlite::{SqliteJournalMode, SqliteSynchronous};
use sea_orm::{
    ConnectOptions, ConnectionTrait, Database, DatabaseConnection, DatabaseTransaction, DbErr,
    SqliteTransactionMode, TransactionOptions, TransactionTrait,
};
use tokio::sync::watch;

use super::location::{Location, Postgres};

/// Connections that read a file at once; a read takes far less than a millisecond, so a few serve many.
const FILE_READERS: u32 = 4;
/// How long to wait for a connection, or for whoever holds the file.
const PATIENCE: Duration = Duration::from_secs(5);
/// How long a writer waits for its turn, and how long one may hold it without a word.
const TURN: Duration = Duration::from_secs(20);
/// How often a write transaction is begun before giving up: on a connection that died meanwhile, say
/// because the database was started anew, and then on fresh ones.
const TRIES: usize = 3;
/// How long to wait before listening again.
const PAUSE: Duration = Duration::from_secs(1);

/// Names the lock of those who write, and of those who change the schema: numbers of our own.
pub(super) const WRITING: i64 = 0x7469_6773_0001;
const MIGRATING: i64 = 0x7469_6773_0002;

/// Where processes tell each other that something was written.
const CHANNEL: &str = "tigstock_wrote";

/// What gives all text the order of its bytes, as SQLite has it, whatever the order of the database is.
/// It does nothing where that was done before.
const ORDER_BY_BYTES: &str = r#"DO $$
DECLARE it record;
BEGIN
  FOR it IN
    SELECT c.oid::regclass AS place, a.attname AS name
    FROM pg_attribute a
    JOIN pg_class c ON c.oid = a.attrelid
    WHERE c.relkind = 'r' AND c.relnamespace = current_schema()::regnamespace
      AND a.attnum > 0 AND NOT a.attisdropped AND a.atttypid = 'text'::regtype
      AND a.attcollation <> '"C"'::regcollation
  LOOP
    EXECUTE format('ALTER TABLE %s ALTER COLUMN %I TYPE text COLLATE "C"', it.place, it.name);
  END LOOP;
END $$"#;

/// Brings the schema up to date, made if there is none. Processes that start together take turns.
pub(super) async fn migrate(location: &Location) -> Result<(), DbErr> {
    let server = match location {
        Location::File(file) => {
            let db = Database::connect(file_options(file, 1)).await?;
            let migrated = Migrator::up(&db, None).await;
            db.close().await?;
            return migrated;
        }
        Location::Postgres(server) => server,
    };
    // One connection, so that the lock and the steps are in one session; it ends with the connection.
    let unlimited = Limits {
        connections: 1,
        statement: Duration::ZERO,
        turn: Duration::ZERO,
    };
    let db = Database::connect(server_options(server, unlimited)).await?;
    let migrated = migrate_in_turn(&db).await;
    db.close().await?;
    migrated
}

async fn migrate_in_turn(db: &DatabaseConnection) -> Result<(), DbErr> {
    db.execute_unprepared(&format!("SELECT pg_advisory_lock({MIGRATING})"))
        .await?;
    Migrator::up(db, None).await?;
    db.execute_unprepared(ORDER_BY_BYTES).await?;
    Ok(())
}

/// Where reads go.
pub(super) async fn to_read(location: &Location) -> Result<DatabaseConnection, DbErr> {
    Database::connect(match location {
        Location::File(file) => file_options(file, FILE_READERS),
        Location::Postgres(server) => server_options(
            server,
            Limits {
                connections: server.readers,
                statement: server.statement_timeout,
                turn: TURN,
            },
        ),
    })
    .await
}

/// Where writes go: one connection.
pub(super) async fn to_write(location: &Location) -> Result<DatabaseConnection, DbErr> {
    Database::connect(match location {
        Location::File(file) => file_options(file, 1),
        Location::Postgres(server) => server_options(
            server,
            Limits {
                connections: 1,
                statement: server.statement_timeout.max(TURN),
                turn: TURN,
            },
        ),
    })
    .await
}

/// Begins a write transaction on the connection in `write`, or on a fresh one if there is none or it
/// proves dead: nothing was done on it yet, so nothing is done twice.
pub(super) async fn begin(
    location: &Location,
    write: &mut Option<DatabaseConnection>,
) -> Result<DatabaseTransaction, DbErr> {
    let mut tries = 1;
    loop {
        let connection = match write.take() {
            Some(connection) => connection,
            None => to_write(location).await?,
        };
        match begin_on(location, &connection).await {
            Err(error) if tries < TRIES && is_cut(location, &error) => {
                tries += 1;
                // It is of no use any more, whatever its end says.
                let _ = connection.close().await;
            }
            begun => {
                *write = Some(connection);
                return begun;
            }
        }
    }
}

/// Whether a connection to a server ended; a file has none that could.
fn is_cut(location: &Location, error: &DbErr) -> bool {
    location.file().is_none() && super::error::is_cut(error)
}

#[expect(
    clippy::disallowed_methods,
    reason = "the one place that begins a transaction"
)]
async fn begin_on(
    location: &Location,
    connection: &DatabaseConnection,
) -> Result<DatabaseTransaction, DbErr> {
    let options = TransactionOptions {
        sqlite_transaction_mode: Some(SqliteTransactionMode::Immediate),
        ..TransactionOptions::default()
    };
    let tx = connection.begin_with_options(options).await?;
    if location.file().is_none() {
        // The first is the turn; the second is told to all at the commit, and to nobody without it.
        let turn = format!("SELECT pg_advisory_xact_lock({WRITING}), pg_notify('{CHANNEL}', '')");
        tx.execute_unprepared(&turn).await?;
    }
    Ok(tx)
}

/// Tells `tells` whenever another process wrote, until nobody listens to it any more. A file has no
/// other process.
pub(super) async fn follow(location: &Location, tells: watch::Sender<()>) {
    let Location::Postgres(server) = location else {
        return;
    };
    loop {
        tokio::select! {
            () = tells.closed() => return,
            heard = listen(server, &tells) => {
                if let Err(error) = heard {
                    let error = &error as &dyn std::error::Error;
                    tracing::warn!(error, "what other processes write is not heard of for now");
                }
            }
        }
        tokio::time::sleep(PAUSE).await;
    }
}

async fn listen(server: &Postgres, tells: &watch::Sender<()>) -> Result<(), sea_orm::sqlx::Error> {
    let mut listener = PgListener::connect(&server.url).await?;
    listener.listen(CHANNEL).await?;
    loop {
        // Whatever was written while nobody listened is heard of now.
        tells.send_replace(());
        // Nothing means that the connection was lost, and is there again.
        listener.try_recv().await?;
    }
}

pub(super) fn file_options(path: &Path, connections: u32) -> ConnectOptions {
    let mut options = ConnectOptions::new(format!("sqlite://{}", path.display()));
    options
        .max_connections(connections)
        .min_connections(1)
        .acquire_timeout(PATIENCE)
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
                    .busy_timeout(PATIENCE)
                    .foreign_keys(true)
                    .pragma("cache_size", "-16000")
            }
        });
    options
}

/// What connections to a server may take; a time of nothing is no limit.
#[derive(Clone, Copy)]
struct Limits {
    connections: u32,
    statement: Duration,
    turn: Duration,
}

fn server_options(server: &Postgres, limits: Limits) -> ConnectOptions {
    let mut options = ConnectOptions::new(server.url.clone());
    options
        .max_connections(limits.connections)
        .min_connections(1)
        .acquire_timeout(PATIENCE)
        .sqlx_logging(false)
        // A connection may have died while it was idle: better to ask than to fail a read for it.
        .test_before_acquire(true)
        .map_sqlx_postgres_opts(move |postgres| {
            let turn = limits.turn.as_millis().to_string();
            postgres.application_name("tigstock-server").options([
                (
                    "statement_timeout",
                    limits.statement.as_millis().to_string(),
                ),
                ("lock_timeout", turn.clone()),
                ("idle_in_transaction_session_timeout", turn),
                ("default_transaction_isolation", "read committed".to_owned()),
                // What is acknowledged is on disk, whatever the default of the server is.
                ("synchronous_commit", "on".to_owned()),
            ])
        });
    options
}
