//! The steps, up and down.

use migrations::{Migrator, MigratorTrait};
use sea_orm::ConnectionTrait;
use server::store::Store;
use tigstock_tests::database::{Scratch, is_without_file, is_without_server};

use crate::schema::{connect, rows, schema, tables};

#[tokio::test(flavor = "multi_thread")]
async fn up_down_and_up_again_gives_the_same_schema() {
    let scratch = Scratch::empty().await;
    let db = connect(&scratch).await;
    Migrator::up(&db, None).await.expect("it goes up");
    let first = schema(&db).await;
    assert!(first.len() > tables(&db).await.len(), "{first:?}");
    Migrator::down(&db, None).await.expect("it goes down");
    assert_eq!(schema(&db).await, [""; 0]);
    Migrator::up(&db, None).await.expect("it goes up again");
    assert_eq!(schema(&db).await, first);
}

#[tokio::test(flavor = "multi_thread")]
async fn each_step_can_be_taken_back_by_itself() {
    let scratch = Scratch::empty().await;
    let db = connect(&scratch).await;
    let mut before = vec![schema(&db).await];
    let steps = Migrator::migrations().len();
    for _ in 0..steps {
        Migrator::up(&db, Some(1)).await.expect("one step up");
        before.push(schema(&db).await);
    }
    for step in (0..steps).rev() {
        assert_ne!(before[step], before[step + 1], "step {step} does nothing");
        Migrator::down(&db, Some(1)).await.expect("one step down");
        assert_eq!(schema(&db).await, before[step], "after step {step}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn steps_that_were_taken_are_not_taken_again() {
    let scratch = Scratch::empty().await;
    let mut seen = Vec::new();
    for _ in 0..2 {
        let store = Store::open(scratch.location()).await.expect("a database");
        store.close().await.expect("it closes");
        let db = connect(&scratch).await;
        let steps = rows(&db, "SELECT version FROM seaql_migrations".to_owned()).await;
        seen.push((steps.len(), schema(&db).await));
    }
    assert_eq!(seen[0].0, Migrator::migrations().len());
    assert_eq!(seen[0], seen[1]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_database_of_a_newer_program_is_not_opened() {
    let scratch = Scratch::empty().await;
    let store = Store::open(scratch.location()).await.expect("a database");
    store.close().await.expect("it closes");
    let db = connect(&scratch).await;
    let step = "INSERT INTO seaql_migrations (version, applied_at) VALUES ('m99999999_later', 0)";
    db.execute_unprepared(step).await.expect("a step");
    assert!(Store::open(scratch.location()).await.is_err());
}

#[tokio::test(flavor = "multi_thread")]
async fn every_foreign_key_of_the_schema_leads_to_a_table() {
    if is_without_file("asks SQLite; the steps are the same") {
        return;
    }
    let scratch = Scratch::empty().await;
    let db = connect(&scratch).await;
    Migrator::up(&db, None).await.expect("it goes up");
    let tables = tables(&db).await;
    let mut count = 0;
    for table in &tables {
        for key in rows(&db, format!("PRAGMA foreign_key_list('{table}')")).await {
            let target: String = key.try_get("", "table").expect("a name");
            assert!(tables.contains(&target), "{table} to {target}");
            count += 1;
        }
    }
    assert!(count > 0, "no table refers to another");
}

#[tokio::test(flavor = "multi_thread")]
async fn every_foreign_key_leads_an_index() {
    if is_without_file("asks SQLite; the steps are the same") {
        return;
    }
    let scratch = Scratch::empty().await;
    let db = connect(&scratch).await;
    Migrator::up(&db, None).await.expect("it goes up");
    let mut bare = Vec::new();
    for table in tables(&db).await {
        let mut leading = Vec::new();
        for index in rows(&db, format!("PRAGMA index_list('{table}')")).await {
            let name: String = index.try_get("", "name").expect("a name");
            let columns = rows(&db, format!("PRAGMA index_info('{name}')")).await;
            leading.push(columns[0].try_get::<String>("", "name").expect("a name"));
        }
        for key in rows(&db, format!("PRAGMA foreign_key_list('{table}')")).await {
            let column: String = key.try_get("", "from").expect("a name");
            // Sites are few and never removed: nothing is looked up by them alone.
            if !leading.contains(&column) && column != "site_id" {
                bare.push(format!("{table}.{column}"));
            }
        }
    }
    assert_eq!(bare, [""; 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn processes_that_start_together_on_a_server_bring_the_schema_up_once() {
    let scratch = Scratch::empty().await;
    if is_without_server("one process a file: its lock is tested with the service") {
        return;
    }
    let opened = tokio::join!(
        Store::open(scratch.location()),
        Store::open(scratch.location()),
        Store::open(scratch.location()),
    );
    assert!(
        opened.0.is_ok() && opened.1.is_ok() && opened.2.is_ok(),
        "{opened:?}"
    );
    let db = connect(&scratch).await;
    let steps = rows(&db, "SELECT version FROM seaql_migrations".to_owned()).await;
    assert_eq!(steps.len(), Migrator::migrations().len());
}

#[tokio::test(flavor = "multi_thread")]
async fn text_on_a_server_has_the_order_of_its_bytes_whatever_the_order_of_the_database() {
    let scratch = Scratch::empty().await;
    if is_without_server("SQLite has no other order") {
        return;
    }
    let db = connect(&scratch).await;
    let first = "SELECT min(word) AS word FROM (VALUES ('a'), ('B')) AS words (word)";
    let first = rows(&db, first.to_owned()).await;
    let word: String = first[0].try_get("", "word").expect("a word");
    assert_eq!(
        word, "a",
        "the database of the tests has the order of bytes by itself"
    );
    Store::open(scratch.location()).await.expect("a database");
    let other = "SELECT attname::text AS name FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid \
                 WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND attnum > 0 \
                 AND atttypid = 'text'::regtype AND attcollation <> '\"C\"'::regcollation";
    assert_eq!(rows(&db, other.to_owned()).await.len(), 0);
}
