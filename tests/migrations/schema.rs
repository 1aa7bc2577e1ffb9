//! How these tests look at a database: a fresh file, and what SQLite says of its schema.

use std::path::Path;

use sea_orm::{
    ConnectOptions, ConnectionTrait, Database, DatabaseConnection, DbBackend, QueryResult,
    Statement,
};

/// The tables that belong to the migrations and to SQLite itself.
const NOT_OURS: [&str; 2] = ["seaql_migrations", "sqlite_sequence"];

/// A column as SQLite has it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Column {
    pub(crate) name: String,
    pub(crate) kind: String,
    pub(crate) not_null: bool,
    pub(crate) primary_key: i32,
}

/// A connection to a file, which is made if it is not there.
pub(crate) async fn connect(file: &Path) -> DatabaseConnection {
    let mut options = ConnectOptions::new(format!("sqlite://{}?mode=rwc", file.display()));
    options.max_connections(1).sqlx_logging(false);
    Database::connect(options).await.expect("a database")
}

/// The rows of a query.
pub(crate) async fn rows(db: &DatabaseConnection, sql: String) -> Vec<QueryResult> {
    let statement = Statement::from_string(DbBackend::Sqlite, sql);
    db.query_all_raw(statement).await.expect("rows")
}

/// Everything in the schema but what belongs to the migrations, as the text that makes it.
pub(crate) async fn schema(db: &DatabaseConnection) -> Vec<String> {
    let sql = "SELECT tbl_name, coalesce(sql, name) AS made FROM sqlite_master ORDER BY type, name";
    let rows = rows(db, sql.to_owned()).await;
    rows.iter()
        .filter(|row| {
            let table: String = row.try_get("", "tbl_name").expect("a name");
            !NOT_OURS.contains(&&*table)
        })
        .map(|row| row.try_get("", "made").expect("a text"))
        .collect()
}

/// The names of our tables.
pub(crate) async fn tables(db: &DatabaseConnection) -> Vec<String> {
    let sql = "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name";
    let rows = rows(db, sql.to_owned()).await;
    rows.iter()
        .map(|row| row.try_get("", "name").expect("a name"))
        .filter(|name: &String| !NOT_OURS.contains(&&**name))
        .collect()
}

/// The columns of a table by name: the order in which they were made means nothing.
pub(crate) async fn columns(db: &DatabaseConnection, table: &str) -> Vec<Column> {
    let rows = rows(db, format!("PRAGMA table_info('{table}')")).await;
    let mut columns: Vec<Column> = rows
        .iter()
        .map(|row| Column {
            name: row.try_get("", "name").expect("a name"),
            kind: row.try_get("", "type").expect("a type"),
            not_null: row.try_get("", "notnull").expect("a flag"),
            primary_key: row.try_get("", "pk").expect("a number"),
        })
        .collect();
    columns.sort();
    columns
}

/// The columns that are unique by themselves, but for the primary key.
pub(crate) async fn unique_columns(db: &DatabaseConnection, table: &str) -> Vec<String> {
    let mut unique = Vec::new();
    for index in rows(db, format!("PRAGMA index_list('{table}')")).await {
        let is_unique: bool = index.try_get("", "unique").expect("a flag");
        let origin: String = index.try_get("", "origin").expect("a letter");
        if !is_unique || origin == "pk" {
            continue;
        }
        let name: String = index.try_get("", "name").expect("a name");
        let columns = rows(db, format!("PRAGMA index_info('{name}')")).await;
        if let [column] = &columns[..] {
            unique.push(column.try_get("", "name").expect("a name"));
        }
    }
    unique.sort();
    unique
}
