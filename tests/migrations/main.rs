//! The schema: up, down and up again; equal to the entities; and the settings of the connections on
//! which durability stands.

use std::collections::BTreeMap;

use migrations::{Migrator, MigratorTrait};
use sea_orm::{
    ColumnTrait, ConnectionTrait, Database, DatabaseConnection, DbBackend, EntityTrait, Iterable,
    Statement,
};
use server::store::{Store, entity};
use tempfile::TempDir;

/// An empty database in a folder that goes away with it.
async fn empty() -> (DatabaseConnection, TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let url = format!(
        "sqlite://{}?mode=rwc",
        folder.path().join("schema.db").display()
    );
    (Database::connect(url).await.unwrap(), folder)
}

async fn rows(db: &DatabaseConnection, sql: &str) -> Vec<sea_orm::QueryResult> {
    let statement = Statement::from_string(DbBackend::Sqlite, sql);
    db.query_all_raw(statement).await.unwrap()
}

/// The text of the schema, table by table and index by index.
async fn schema(db: &DatabaseConnection) -> BTreeMap<String, String> {
    let sql =
        "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%'";
    let rows = rows(db, sql).await;
    let pair = |row: sea_orm::QueryResult| {
        (
            row.try_get("", "name").unwrap(),
            row.try_get("", "sql").unwrap(),
        )
    };
    rows.into_iter().map(pair).collect()
}

#[tokio::test]
async fn down_undoes_up_and_up_again_gives_the_same_schema() {
    let (db, _folder) = empty().await;
    Migrator::up(&db, None).await.unwrap();
    let first = schema(&db).await;
    assert!(first.contains_key("movements"), "{:?}", first.keys());
    Migrator::down(&db, None).await.unwrap();
    let left: Vec<String> = schema(&db).await.into_keys().collect();
    assert_eq!(left, ["seaql_migrations"]);
    Migrator::up(&db, None).await.unwrap();
    assert_eq!(schema(&db).await, first);
}

#[tokio::test]
async fn the_first_site_is_there() {
    let (db, _folder) = empty().await;
    Migrator::up(&db, None).await.unwrap();
    let sites = entity::sites::Entity::find().all(&db).await.unwrap();
    assert_eq!(sites.len(), 1);
    assert_eq!(
        (sites[0].code.as_str(), sites[0].zone.as_str()),
        ("shop", "Etc/UTC")
    );
}

/// A column as the database has it: its name, whether it may be absent, and its kind of value.
type Column = (String, bool, &'static str);

fn kind(told: &str) -> &'static str {
    let told = told.to_ascii_lowercase();
    let kinds = [
        ("int", "whole"),
        ("bool", "boolean"),
        ("double", "real"),
        ("real", "real"),
        ("uuid", "uuid"),
        ("text", "text"),
        ("varchar", "text"),
    ];
    let found = kinds.iter().find(|(word, _)| told.contains(word));
    found.map_or_else(
        || panic!("an unknown type of column: {told}"),
        |(_, kind)| kind,
    )
}

async fn of_table(db: &DatabaseConnection, table: &str) -> Vec<Column> {
    let rows = rows(db, &format!("PRAGMA table_info({table})")).await;
    let column = |row: &sea_orm::QueryResult| {
        let told: String = row.try_get("", "type").unwrap();
        let required: i32 = row.try_get("", "notnull").unwrap();
        (row.try_get("", "name").unwrap(), required == 0, kind(&told))
    };
    let mut columns: Vec<Column> = rows.iter().map(column).collect();
    columns.sort();
    columns
}

fn of_entity<E: EntityTrait>() -> Vec<Column> {
    let column = |column: E::Column| {
        let definition = column.def();
        let told = format!("{:?}", definition.get_column_type());
        (
            sea_orm::IdenStatic::as_str(&column).to_owned(),
            definition.is_null(),
            kind(&told),
        )
    };
    let mut columns: Vec<Column> = E::Column::iter().map(column).collect();
    columns.sort();
    columns
}

macro_rules! tables_equal_entities {
    ($($table:ident),*) => {
        #[tokio::test]
        async fn every_table_has_the_columns_of_its_entity() {
            let (db, _folder) = empty().await;
            Migrator::up(&db, None).await.unwrap();
            let mut tables: Vec<String> = schema(&db).await.into_iter()
                .filter(|(_, sql)| sql.starts_with("CREATE TABLE")).map(|(name, _)| name).collect();
            tables.retain(|name| name != "seaql_migrations");
            let mut known = vec![$(stringify!($table).to_owned()),*];
            known.sort();
            assert_eq!(tables, known, "a table without an entity, or the other way round");
            $(
                let (table, columns) = (stringify!($table), of_entity::<entity::$table::Entity>());
                assert_eq!(of_table(&db, table).await, columns, "{table}");
            )*
        }
    };
}

tables_equal_entities!(
    counts,
    entries,
    job_left_out,
    jobs,
    keys,
    kit_lines,
    kits,
    levels,
    movements,
    offers,
    order_lines,
    orders,
    parts,
    replies,
    set_up_parts,
    set_ups,
    sites,
    starting_assumptions,
    suppliers,
    torches,
    wear
);

#[tokio::test]
async fn every_reference_has_an_index() {
    let (db, _folder) = empty().await;
    Migrator::up(&db, None).await.unwrap();
    let mut bare = Vec::new();
    for (table, sql) in schema(&db).await {
        if !sql.starts_with("CREATE TABLE") {
            continue;
        }
        let mut led = Vec::new();
        for index in rows(&db, &format!("PRAGMA index_list({table})")).await {
            let name: String = index.try_get("", "name").unwrap();
            let first = &rows(&db, &format!("PRAGMA index_info('{name}')")).await[0];
            led.push(first.try_get::<String>("", "name").unwrap());
        }
        for reference in rows(&db, &format!("PRAGMA foreign_key_list({table})")).await {
            let column: String = reference.try_get("", "from").unwrap();
            // Sites are few and never removed: nothing is looked up by them alone.
            if !led.contains(&column) && column != "site_id" {
                bare.push(format!("{table}.{column}"));
            }
        }
    }
    assert_eq!(bare, Vec::<String>::new());
}

#[tokio::test]
async fn the_store_writes_ahead_and_flushes_every_commit() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&folder.path().join("store.db")).await.unwrap();
    let tx = store.begin().await.unwrap();
    for (pragma, expected) in [
        ("synchronous", 2),
        ("foreign_keys", 1),
        ("busy_timeout", 5000),
    ] {
        let statement = Statement::from_string(DbBackend::Sqlite, format!("PRAGMA {pragma}"));
        let row = tx.query_one_raw(statement).await.unwrap().unwrap();
        assert_eq!(
            row.try_get_by_index::<i32>(0).unwrap(),
            expected,
            "{pragma}"
        );
    }
    let statement = Statement::from_string(DbBackend::Sqlite, "PRAGMA journal_mode");
    let row = tx.query_one_raw(statement).await.unwrap().unwrap();
    assert_eq!(row.try_get_by_index::<String>(0).unwrap(), "wal");
}
