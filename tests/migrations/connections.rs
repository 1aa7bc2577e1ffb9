//! The settings of every connection, read back: an acknowledged write outlives a loss of power, and
//! no row refers to one that is not there.

use sea_orm::sqlx::{self, Row, SqliteConnection};
use sea_orm::{ConnectionTrait, DatabaseTransaction, DbBackend, Statement};
use server::store::Store;
use tigstock_tests::database::Scratch;

/// Setting and value, as SQLite tells them: a synchronous of 2 is FULL.
const SETTINGS: [(&str, &str); 4] = [
    ("journal_mode", "wal"),
    ("synchronous", "2"),
    ("foreign_keys", "1"),
    ("busy_timeout", "5000"),
];

/// Of a file, whatever the other tests run on.
async fn store() -> (Store, Scratch) {
    let scratch = Scratch::file();
    let store = Store::open(scratch.location()).await;
    (store.expect("a database"), scratch)
}

async fn read_back(connection: &mut SqliteConnection, setting: &str) -> String {
    let row = sqlx::query(sqlx::AssertSqlSafe(format!("PRAGMA {setting}")))
        .fetch_one(connection)
        .await
        .expect("a row");
    let number: Result<i64, _> = row.try_get(0);
    number.map_or_else(|_| row.get(0), |number| number.to_string())
}

async fn setting_in(tx: &DatabaseTransaction, setting: &str) -> String {
    let statement = Statement::from_string(DbBackend::Sqlite, format!("PRAGMA {setting}"));
    let row = tx.query_one_raw(statement).await.expect("it answers");
    let row = row.expect("a row");
    let number: Result<i64, _> = row.try_get_by_index(0);
    number.map_or_else(
        |_| row.try_get_by_index(0).expect("a text"),
        |number| number.to_string(),
    )
}

#[tokio::test(flavor = "multi_thread")]
async fn the_connection_that_writes_has_the_settings() {
    let (store, _scratch) = store().await;
    let tx = store.begin().await.expect("a transaction");
    for (setting, value) in SETTINGS {
        assert_eq!(setting_in(&tx, setting).await, value, "{setting}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_connection_that_reads_has_the_settings() {
    let (store, _scratch) = store().await;
    let pool = store.read().get_sqlite_connection_pool();
    let mut held = Vec::new();
    for _ in 0..pool.options().get_max_connections() {
        held.push(pool.acquire().await.expect("a connection"));
    }
    assert!(held.len() > 1, "readers wait for each other");
    for connection in &mut held {
        for (setting, value) in SETTINGS {
            assert_eq!(read_back(connection, setting).await, value, "{setting}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_row_that_refers_to_nothing_is_refused() {
    let (store, _scratch) = store().await;
    let tx = store.begin().await.expect("a transaction");
    let row = "INSERT INTO torches (code, code_key, name, site_id, family, version) \
               VALUES ('T1', 't1', '', 99, 'large', 1)";
    let error = tx.execute_unprepared(row).await.expect_err("no site 99");
    assert!(error.to_string().contains("FOREIGN KEY"), "{error}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_write_begins_by_taking_the_lock() {
    let (store, scratch) = store().await;
    let writing = store.begin().await.expect("a transaction");
    let other = crate::schema::connect(&scratch).await;
    other
        .execute_unprepared("PRAGMA busy_timeout = 0")
        .await
        .expect("a setting");
    let error = other
        .execute_unprepared("UPDATE sites SET version = 2")
        .await;
    let error = error.expect_err("the lock is taken");
    assert!(error.to_string().contains("locked"), "{error}");
    writing.rollback().await.expect("it ends");
    let after = other
        .execute_unprepared("UPDATE sites SET version = 2")
        .await;
    assert!(after.is_ok(), "{after:?}");
}
