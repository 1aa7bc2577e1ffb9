//! How these tests look at a database: a fresh one, and what it says of its own schema.

use sea_orm::{
    ConnectOptions, ConnectionTrait, Database, DatabaseConnection, DbBackend, QueryResult,
    Statement,
};
use tigstock_tests::database::Scratch;

/// The tables that belong to the migrations and to SQLite itself.
const NOT_OURS: [&str; 2] = ["seaql_migrations", "sqlite_sequence"];

/// What PostgreSQL has of a schema, as texts: columns, indexes with their rules, and references.
const SERVER_SCHEMA: &str = "\
    SELECT table_name AS tbl_name, concat_ws(' ', table_name, column_name, data_type, is_nullable, \
        column_default, is_identity) AS made \
    FROM information_schema.columns WHERE table_schema = 'public' \
    UNION ALL SELECT tablename, indexdef FROM pg_indexes WHERE schemaname = 'public' \
    UNION ALL SELECT conrelid::regclass::text, concat_ws(' ', conname, pg_get_constraintdef(oid)) \
    FROM pg_constraint WHERE connamespace = 'public'::regnamespace ORDER BY 2";
const SERVER_TABLES: &str = "\
    SELECT table_name::text AS name FROM information_schema.tables WHERE table_schema = 'public' \
    ORDER BY table_name COLLATE \"C\"";

/// A column as the database has it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Column {
    pub(crate) name: String,
    pub(crate) kind: String,
    pub(crate) not_null: bool,
    pub(crate) primary_key: bool,
}

/// A connection to a database.
pub(crate) async fn connect(scratch: &Scratch) -> DatabaseConnection {
    let address = match scratch.location().file() {
        Some(file) => format!("sqlite://{}?mode=rwc", file.display()),
        None => scratch.address(),
    };
    let mut options = ConnectOptions::new(address);
    options.max_connections(1).sqlx_logging(false);
    Database::connect(options).await.expect("a database")
}

/// The rows of a query.
pub(crate) async fn rows(db: &DatabaseConnection, sql: String) -> Vec<QueryResult> {
    let statement = Statement::from_string(db.get_database_backend(), sql);
    db.query_all_raw(statement).await.expect("rows")
}

fn is_server(db: &DatabaseConnection) -> bool {
    db.get_database_backend() == DbBackend::Postgres
}

/// Everything in the schema but what belongs to the migrations, as texts that tell it.
pub(crate) async fn schema(db: &DatabaseConnection) -> Vec<String> {
    let sql = if is_server(db) {
        SERVER_SCHEMA
    } else {
        "SELECT tbl_name, coalesce(sql, name) AS made FROM sqlite_master ORDER BY type, name"
    };
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
    let sql = if is_server(db) {
        SERVER_TABLES
    } else {
        "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
    };
    let rows = rows(db, sql.to_owned()).await;
    rows.iter()
        .map(|row| row.try_get("", "name").expect("a name"))
        .filter(|name: &String| !NOT_OURS.contains(&&**name))
        .collect()
}

/// The columns of a table by name: the order in which they were made means nothing.
pub(crate) async fn columns(db: &DatabaseConnection, table: &str) -> Vec<Column> {
    let sql = if is_server(db) {
        format!(
            "SELECT attname::text AS name, format_type(atttypid, atttypmod) AS type, \
             attnotnull AS \"notnull\", coalesce(attnum = ANY (conkey), false) AS pk \
             FROM pg_attribute LEFT JOIN pg_constraint ON conrelid = attrelid AND contype = 'p' \
             WHERE attrelid = '{table}'::regclass AND attnum > 0 AND NOT attisdropped"
        )
    } else {
        format!("SELECT name, type, \"notnull\", pk > 0 AS pk FROM pragma_table_info('{table}')")
    };
    let rows = rows(db, sql).await;
    let mut columns: Vec<Column> = rows
        .iter()
        .map(|row| Column {
            name: row.try_get("", "name").expect("a name"),
            kind: row.try_get("", "type").expect("a type"),
            not_null: row.try_get("", "notnull").expect("a flag"),
            primary_key: row.try_get("", "pk").expect("a flag"),
        })
        .collect();
    columns.sort();
    columns
}

/// The columns that are unique by themselves, but for the primary key.
pub(crate) async fn unique_columns(db: &DatabaseConnection, table: &str) -> Vec<String> {
    let sql = if is_server(db) {
        format!(
            "SELECT attname::text AS name FROM pg_index \
             JOIN pg_attribute ON attrelid = indrelid AND attnum = indkey[0] \
             WHERE indrelid = '{table}'::regclass AND indisunique AND NOT indisprimary \
             AND indnatts = 1 ORDER BY attname COLLATE \"C\""
        )
    } else {
        format!(
            "SELECT min(i.name) AS name FROM pragma_index_list('{table}') l, \
             pragma_index_info(l.name) i WHERE l.\"unique\" AND l.origin <> 'pk' \
             GROUP BY l.name HAVING count(*) = 1 ORDER BY 1"
        )
    };
    let rows = rows(db, sql).await;
    rows.iter()
        .map(|row| row.try_get("", "name").expect("a name"))
        .collect()
}
