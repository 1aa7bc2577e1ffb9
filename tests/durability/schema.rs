//! Nothing is forgotten: what is exported is every table and column of the schema, and the page that
//! describes an export has each of them in words.

use std::path::Path;

use sea_orm::sqlx::sqlite::SqliteConnectOptions;
use sea_orm::sqlx::{self, ConnectOptions};
use tigstock_tests::{TestServer, demo::MONDAY};

use crate::export::Exported;

const PAGE: &str = "deploy/EXPORT.md";

/// The tables of a database with their columns, as SQLite itself tells them.
async fn schema(file: &Path) -> Vec<(String, Vec<String>)> {
    let mut db = SqliteConnectOptions::new()
        .filename(file)
        .connect()
        .await
        .expect("it opens");
    let rows: Vec<(String, String)> = sqlx::query_as(
        "SELECT s.name, c.name FROM sqlite_schema s, pragma_table_info(s.name) c \
         WHERE s.type = 'table' AND s.name NOT IN ('seaql_migrations', 'sqlite_sequence') \
         ORDER BY s.name, c.cid",
    )
    .fetch_all(&mut db)
    .await
    .expect("the schema");
    let mut tables: Vec<(String, Vec<String>)> = Vec::new();
    for (table, column) in rows {
        match tables.last_mut() {
            Some((last, columns)) if *last == table => columns.push(column),
            _ => tables.push((table, vec![column])),
        }
    }
    tables
}

#[tokio::test(flavor = "multi_thread")]
async fn every_table_and_column_of_the_schema_is_exported_in_its_order() {
    let server = TestServer::at(MONDAY).await;
    let exported = Exported::of(&server).await;
    let schema = schema(server.file()).await;
    assert!(schema.len() > 20, "{schema:?}");
    let told: Vec<(String, Vec<String>)> = exported
        .manifest
        .tables
        .iter()
        .map(|sheet| {
            let columns = sheet.columns.iter().map(|column| column.name.clone());
            (sheet.name.clone(), columns.collect())
        })
        .collect();
    assert_eq!(told, schema, "left what is exported, right the schema");
    for (table, columns) in &schema {
        let file = exported.path().join(format!("{table}.csv"));
        let text = std::fs::read_to_string(&file).expect("a sheet for every table");
        let names = text.lines().next().expect("a line of names");
        assert_eq!(names, columns.join(","), "{table}");
    }
}

/// The tables of the page, with the name and type of each column and its words.
fn described(page: &str) -> Vec<(String, Vec<[String; 3]>)> {
    let mut tables: Vec<(String, Vec<[String; 3]>)> = Vec::new();
    for line in page.lines() {
        if let Some(name) = line.strip_prefix("### ") {
            tables.push((name.to_owned(), Vec::new()));
        } else if let (Some(row), Some((_, columns))) =
            (line.strip_prefix("| `"), tables.last_mut())
        {
            let cells: Vec<&str> = row.trim_end_matches(" |").splitn(3, " | ").collect();
            let [name, kind, words] = cells[..] else {
                panic!("{PAGE}: \"{line}\" has not three cells");
            };
            let name = name.trim_end_matches('`');
            columns.push([name, kind, words].map(str::to_owned));
        }
    }
    tables
}

#[tokio::test(flavor = "multi_thread")]
async fn the_page_of_the_export_describes_every_table_and_column() {
    let server = TestServer::at(MONDAY).await;
    let exported = Exported::of(&server).await;
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let page = std::fs::read_to_string(root.join(PAGE)).expect("the page");
    let described = described(&page);
    let told: Vec<String> = described
        .iter()
        .flat_map(|(table, columns)| {
            let told = move |[name, kind, _]: &[String; 3]| format!("{table}: {name} {kind}");
            columns.iter().map(told)
        })
        .collect();
    let should: Vec<String> = exported
        .manifest
        .tables
        .iter()
        .flat_map(|sheet| {
            sheet.columns.iter().map(|column| {
                let mark = if column.may_be_empty { "?" } else { "" };
                format!("{}: {} {}{mark}", sheet.name, column.name, column.kind)
            })
        })
        .collect();
    let missing: Vec<_> = should.iter().filter(|it| !told.contains(it)).collect();
    assert!(missing.is_empty(), "describe in {PAGE}: {missing:#?}");
    let gone: Vec<_> = told.iter().filter(|it| !should.contains(it)).collect();
    assert!(gone.is_empty(), "remove from {PAGE}: {gone:#?}");
    assert_eq!(told, should, "left {PAGE}, right the order of the schema");
    for (table, columns) in &described {
        for [name, _, words] in columns {
            assert!(words.len() > 3, "{PAGE}: {table}.{name} has no words");
        }
    }
}
