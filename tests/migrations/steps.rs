//! The steps, up and down.

use migrations::{Migrator, MigratorTrait};
use server::store::Store;
use tempfile::tempdir;

use crate::schema::{connect, rows, schema, tables};

#[tokio::test(flavor = "multi_thread")]
async fn up_down_and_up_again_gives_the_same_schema() {
    let folder = tempdir().expect("a folder");
    let db = connect(&folder.path().join("fresh.db")).await;
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
    let folder = tempdir().expect("a folder");
    let db = connect(&folder.path().join("fresh.db")).await;
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
    let folder = tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    let mut seen = Vec::new();
    for _ in 0..2 {
        let store = Store::open(&file).await.expect("a database");
        store.close().await.expect("it closes");
        let db = connect(&file).await;
        let steps = rows(&db, "SELECT version FROM seaql_migrations".to_owned()).await;
        seen.push((steps.len(), schema(&db).await));
    }
    assert_eq!(seen[0].0, Migrator::migrations().len());
    assert_eq!(seen[0], seen[1]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_database_of_a_newer_program_is_not_opened() {
    let folder = tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    let store = Store::open(&file).await.expect("a database");
    store.close().await.expect("it closes");
    let db = connect(&file).await;
    let step = "INSERT INTO seaql_migrations (version, applied_at) VALUES ('m99999999_later', 0)";
    rows(&db, step.to_owned()).await;
    assert!(Store::open(&file).await.is_err());
}

#[tokio::test(flavor = "multi_thread")]
async fn every_foreign_key_of_the_schema_leads_to_a_table() {
    let folder = tempdir().expect("a folder");
    let db = connect(&folder.path().join("fresh.db")).await;
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
    let folder = tempdir().expect("a folder");
    let db = connect(&folder.path().join("fresh.db")).await;
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
