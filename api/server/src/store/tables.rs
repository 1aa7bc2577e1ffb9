//! The tables as the schema has them, and their rows as values without names: for whatever must hold
//! for every table, also for one that is added tomorrow. Derived from the schema, never listed.

use std::pin::Pin;

use futures_util::{Stream, TryStreamExt};
use sea_orm::sqlx::query::Query;
use sea_orm::sqlx::sqlite::{SqliteArguments, SqliteRow};
use sea_orm::sqlx::{self, AssertSqlSafe, Row, Sqlite, SqliteConnection};
use uuid::Uuid;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A whole number of 64 bits.
    Integer,
    /// A floating-point number of 64 bits.
    Real,
    /// Text.
    Text,
    /// A UUID.
    Uuid,
    /// True or false.
    Boolean,
    /// Bytes.
    Bytes,
}

/// One value.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A whole number.
    Integer(i64),
    /// A floating-point number.
    Real(f64),
    /// Text.
    Text(String),
    /// A UUID.
    Uuid(Uuid),
    /// True or false.
    Boolean(bool),
    /// Bytes.
    Bytes(Vec<u8>),
}

/// A column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub kind: Kind,
    /// Whether it may hold nothing.
    pub may_be_null: bool,
}

/// A table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// Its columns, in the order of the schema: a new one is always the last.
    pub columns: Vec<Column>,
    /// The columns of its primary key.
    pub key: Vec<String>,
}

/// A row: a value for each column, or nothing.
pub type Cells = Vec<Option<Value>>;

impl Kind {
    /// The kind of a column that was declared so, by the types of `migrations/src/column.rs`.
    fn declared(as_what: &str) -> Option<Self> {
        match as_what.to_ascii_lowercase().as_str() {
            "bigint" | "integer" => Some(Self::Integer),
            "double" => Some(Self::Real),
            "text" => Some(Self::Text),
            "uuid_text" => Some(Self::Uuid),
            "boolean" => Some(Self::Boolean),
            "blob" => Some(Self::Bytes),
            _ => None,
        }
    }
}

/// The tables of a database, by name; not those of SQLite and of the migrations.
///
/// # Errors
/// The schema cannot be read, or has a column of a type that is not known here.
pub async fn all(db: &mut SqliteConnection) -> Result<Vec<Table>, sqlx::Error> {
    let names = "SELECT name FROM sqlite_schema WHERE type = 'table' \
                 AND name NOT LIKE 'sqlite~_%' ESCAPE '~' AND name <> 'seaql_migrations' \
                 ORDER BY name";
    let names: Vec<String> = sqlx::query_scalar(names).fetch_all(&mut *db).await?;
    let mut tables = Vec::with_capacity(names.len());
    for name in names {
        tables.push(table(db, name).await?);
    }
    Ok(tables)
}

async fn table(db: &mut SqliteConnection, name: String) -> Result<Table, sqlx::Error> {
    let sql = "SELECT name, type, \"notnull\", pk FROM pragma_table_info(?) ORDER BY cid";
    let rows: Vec<(String, String, bool, i64)> =
        sqlx::query_as(sql).bind(&name).fetch_all(db).await?;
    let mut columns = Vec::with_capacity(rows.len());
    let mut key: Vec<(i64, String)> = Vec::new();
    for (column, declared, not_null, place) in rows {
        let kind = Kind::declared(&declared).ok_or_else(|| {
            sqlx::Error::Protocol(format!("{name}.{column} has the unknown type {declared}"))
        })?;
        if place > 0 {
            key.push((place, column.clone()));
        }
        columns.push(Column {
            name: column,
            kind,
            may_be_null: !not_null && place == 0,
        });
    }
    key.sort();
    Ok(Table {
        name,
        columns,
        key: key.into_iter().map(|(_, column)| column).collect(),
    })
}

/// The columns of a reference from a table to another, with the columns they lead to.
///
/// # Errors
/// The schema cannot be read.
pub async fn reference(
    db: &mut SqliteConnection,
    table: &str,
    number: i64,
) -> Result<Vec<String>, sqlx::Error> {
    let sql = "SELECT \"from\" FROM pragma_foreign_key_list(?) WHERE id = ? ORDER BY seq";
    sqlx::query_scalar(sql)
        .bind(table)
        .bind(number)
        .fetch_all(db)
        .await
}

/// The values of some columns in the row that is at that place.
///
/// # Errors
/// They cannot be read.
pub async fn values_at(
    db: &mut SqliteConnection,
    table: &Table,
    columns: &[String],
    rowid: Option<i64>,
) -> Result<Cells, sqlx::Error> {
    let sql = format!(
        "SELECT {} FROM {} WHERE rowid = ?",
        names(columns),
        quoted(&table.name)
    );
    let row = sqlx::query(AssertSqlSafe(sql))
        .bind(rowid)
        .fetch_one(db)
        .await?;
    let kind = |name: &String| {
        let found = table.columns.iter().find(|column| column.name == *name);
        found.map_or(Kind::Text, |column| column.kind)
    };
    let columns = columns.iter().enumerate();
    columns
        .map(|(index, name)| value(&row, index, kind(name)))
        .collect()
}

impl Table {
    /// How many rows it has.
    ///
    /// # Errors
    /// They cannot be read.
    pub async fn rows(&self, db: &mut SqliteConnection) -> Result<u64, sqlx::Error> {
        let sql = format!("SELECT count(*) FROM {}", quoted(&self.name));
        let rows: i64 = sqlx::query_scalar(AssertSqlSafe(sql)).fetch_one(db).await?;
        Ok(u64::try_from(rows).unwrap_or(0))
    }

    /// Its rows in the order of its key, one at a time.
    pub fn walk<'d>(&self, db: &'d mut SqliteConnection) -> Walk<'d> {
        Walk {
            kinds: self.columns.iter().map(|column| column.kind).collect(),
            rows: sqlx::query(AssertSqlSafe(self.selection())).fetch(db),
        }
    }

    /// The question for its rows in the order of its key.
    pub(super) fn selection(&self) -> String {
        format!(
            "SELECT {} FROM {} ORDER BY {}",
            names(self.columns.iter().map(|column| &column.name)),
            quoted(&self.name),
            names(&self.key),
        )
    }

    /// The statement that adds a row.
    pub fn insertion(&self) -> String {
        let places = vec!["?"; self.columns.len()].join(", ");
        format!(
            "INSERT INTO {} ({}) VALUES ({places})",
            quoted(&self.name),
            names(self.columns.iter().map(|column| &column.name)),
        )
    }

    /// Removes all rows.
    ///
    /// # Errors
    /// They cannot be removed.
    pub async fn clear(&self, db: &mut SqliteConnection) -> Result<(), sqlx::Error> {
        let sql = format!("DELETE FROM {}", quoted(&self.name));
        sqlx::query(AssertSqlSafe(sql)).execute(db).await?;
        Ok(())
    }
}

/// Adds a row by a statement of [`Table::insertion`].
///
/// # Errors
/// The row breaks a rule of the schema, or the database cannot be written.
pub async fn insert(
    db: &mut SqliteConnection,
    insertion: &str,
    cells: Cells,
) -> Result<(), sqlx::Error> {
    let mut query = sqlx::query(AssertSqlSafe(insertion.to_owned()));
    for cell in cells {
        query = bind(query, cell);
    }
    query.execute(db).await?;
    Ok(())
}

type Statement<'q> = Query<'q, Sqlite, SqliteArguments>;

fn bind(query: Statement<'_>, cell: Option<Value>) -> Statement<'_> {
    match cell {
        None => query.bind(None::<i64>),
        Some(Value::Integer(value)) => query.bind(value),
        Some(Value::Real(value)) => query.bind(value),
        Some(Value::Text(value)) => query.bind(value),
        Some(Value::Uuid(value)) => query.bind(value),
        Some(Value::Boolean(value)) => query.bind(value),
        Some(Value::Bytes(value)) => query.bind(value),
    }
}

/// The rows of a table on their way.
pub struct Walk<'d> {
    kinds: Vec<Kind>,
    rows: Pin<Box<dyn Stream<Item = Result<SqliteRow, sqlx::Error>> + Send + 'd>>,
}

impl std::fmt::Debug for Walk<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Walk").finish_non_exhaustive()
    }
}

impl Walk<'_> {
    /// The next row, or nothing after the last.
    ///
    /// # Errors
    /// It cannot be read, or a value is not of the kind of its column.
    pub async fn next(&mut self) -> Result<Option<Cells>, sqlx::Error> {
        let Some(row) = self.rows.try_next().await? else {
            return Ok(None);
        };
        let cells = self.kinds.iter().enumerate();
        cells
            .map(|(index, kind)| value(&row, index, *kind))
            .collect::<Result<_, _>>()
            .map(Some)
    }
}

fn value(row: &SqliteRow, index: usize, kind: Kind) -> Result<Option<Value>, sqlx::Error> {
    Ok(match kind {
        Kind::Integer => row.try_get::<Option<i64>, _>(index)?.map(Value::Integer),
        Kind::Real => row.try_get::<Option<f64>, _>(index)?.map(Value::Real),
        Kind::Text => row.try_get::<Option<String>, _>(index)?.map(Value::Text),
        Kind::Uuid => row.try_get::<Option<Uuid>, _>(index)?.map(Value::Uuid),
        Kind::Boolean => row.try_get::<Option<bool>, _>(index)?.map(Value::Boolean),
        Kind::Bytes => row.try_get::<Option<Vec<u8>>, _>(index)?.map(Value::Bytes),
    })
}

pub(super) fn names<'n>(names: impl IntoIterator<Item = &'n String>) -> String {
    let names: Vec<String> = names.into_iter().map(|name| quoted(name)).collect();
    names.join(", ")
}

pub(super) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}
