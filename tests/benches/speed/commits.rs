//! The baseline of writing: the bare database, one row a commit, with the settings of the service. A
//! row like that of a movement is added and a row like that of a level is brought up to date.

use std::time::{Duration, Instant};

use sea_orm::sqlx::sqlite::{SqliteJournalMode, SqliteSynchronous};
use sea_orm::{
    ConnectOptions, ConnectionTrait, Database, DatabaseConnection, DatabaseTransaction, DbErr,
    QueryResult, SqliteTransactionMode, Statement, TransactionOptions, TransactionTrait,
};
use tempfile::TempDir;
use tokio::runtime::Runtime;
use uuid::Uuid;

use crate::load::rate;

/// How long it commits.
const TIME: Duration = Duration::from_secs(2);

/// The bare database.
#[derive(Debug)]
pub(crate) struct Bare {
    connection: DatabaseConnection,
    runtime: Runtime,
    _folder: TempDir,
}

impl Bare {
    /// Opens it in a folder of its own.
    pub(crate) fn open() -> Result<Self, String> {
        let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
        let runtime = Runtime::new().map_err(|error| error.to_string())?;
        let connection = runtime
            .block_on(open(&folder))
            .map_err(|error| error.to_string())?;
        Ok(Self {
            connection,
            runtime,
            _folder: folder,
        })
    }

    /// Commits for a while; how many commits in a second.
    pub(crate) fn commits(&self) -> Result<f64, String> {
        let begin = Instant::now();
        let commit = async {
            let mut commits = 0;
            while begin.elapsed() < TIME {
                commit(&self.connection).await?;
                commits += 1;
            }
            Ok::<u32, DbErr>(commits)
        };
        let commits = self.runtime.block_on(commit);
        let commits = commits.map_err(|error| error.to_string())?;
        Ok(rate(commits, begin.elapsed()))
    }

    /// Inserts so many movements, with their levels, in one commit.
    pub(crate) fn insert(&self, rows: u32) -> Result<(), String> {
        let insert = async {
            let tx = begin(&self.connection).await?;
            for _ in 0..rows {
                write(&tx).await?;
            }
            tx.commit().await
        };
        let inserted: Result<(), DbErr> = self.runtime.block_on(insert);
        inserted.map_err(|error| error.to_string())
    }

    /// Reads every movement and writes it as CSV, to nowhere; how many there were.
    pub(crate) fn export(&self) -> Result<u32, String> {
        let read = async {
            let all = Statement::from_string(
                self.connection.get_database_backend(),
                "SELECT id, part_id, site_id, kind, quantity, happened_at FROM movements ORDER BY id DESC",
            );
            self.connection.query_all_raw(all).await
        };
        let rows = self.runtime.block_on(read);
        let rows = rows.map_err(|error| error.to_string())?;
        let mut writer = csv::Writer::from_writer(std::io::sink());
        for row in &rows {
            let told = told(row).map_err(|error| error.to_string())?;
            writer
                .write_record(told)
                .map_err(|error| error.to_string())?;
        }
        u32::try_from(rows.len()).map_err(|error| error.to_string())
    }
}

fn told(row: &QueryResult) -> Result<[String; 6], DbErr> {
    let number = |place: &str| row.try_get::<i64>("", place).map(|it| it.to_string());
    Ok([
        row.try_get::<Uuid>("", "id")?.to_string(),
        number("part_id")?,
        number("site_id")?,
        row.try_get("", "kind")?,
        number("quantity")?,
        number("happened_at")?,
    ])
}

async fn open(folder: &TempDir) -> Result<DatabaseConnection, DbErr> {
    let file = folder.path().join("bare.db");
    let mut options = ConnectOptions::new(format!("sqlite://{}", file.display()));
    options
        .max_connections(1)
        .sqlx_logging(false)
        .test_before_acquire(false)
        .map_sqlx_sqlite_opts(move |sqlite| {
            sqlite
                .filename(&file)
                .create_if_missing(true)
                .journal_mode(SqliteJournalMode::Wal)
                .synchronous(SqliteSynchronous::Full)
                .foreign_keys(true)
        });
    let connection = Database::connect(options).await?;
    connection
        .execute_unprepared(
            "CREATE TABLE movements (id BLOB PRIMARY KEY, part_id INTEGER NOT NULL, \
             site_id INTEGER NOT NULL, kind TEXT NOT NULL, quantity INTEGER NOT NULL, \
             happened_at INTEGER NOT NULL); \
             CREATE TABLE levels (part_id INTEGER NOT NULL, site_id INTEGER NOT NULL, \
             on_hand INTEGER NOT NULL, PRIMARY KEY (part_id, site_id)); \
             INSERT INTO levels VALUES (1, 1, 0);",
        )
        .await?;
    Ok(connection)
}

async fn commit(connection: &DatabaseConnection) -> Result<(), DbErr> {
    let tx = begin(connection).await?;
    write(&tx).await?;
    tx.commit().await
}

#[expect(clippy::disallowed_methods, reason = "not the database of the service")]
async fn begin(connection: &DatabaseConnection) -> Result<DatabaseTransaction, DbErr> {
    let begin = TransactionOptions {
        sqlite_transaction_mode: Some(SqliteTransactionMode::Immediate),
        ..TransactionOptions::default()
    };
    connection.begin_with_options(begin).await
}

async fn write(tx: &DatabaseTransaction) -> Result<(), DbErr> {
    let backend = tx.get_database_backend();
    let insert = Statement::from_sql_and_values(
        backend,
        "INSERT INTO movements VALUES (?, 1, 1, 'issue', 1, ?)",
        [Uuid::now_v7().into(), 1_781_000_000_000_000_i64.into()],
    );
    tx.execute_raw(insert).await?;
    let update = Statement::from_sql_and_values(
        backend,
        "UPDATE levels SET on_hand = on_hand - ? WHERE part_id = ? AND site_id = ?",
        [1_i64.into(), 1_i64.into(), 1_i64.into()],
    );
    tx.execute_raw(update).await?;
    Ok(())
}
