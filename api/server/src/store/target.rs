//! A database of PostgreSQL that is filled with all tables of another, in one transaction: either all of it is
//! there afterwards, or nothing. References are taken off first and made anew at the end, when the database
//! checks every row, so that the order of tables and rows does not matter.

use std::pin::Pin;

use futures_util::{Stream, TryStreamExt};
use sea_orm::sqlx::postgres::{PgConnection, PgRow};
use sea_orm::sqlx::{self, AssertSqlSafe, Connection, Postgres, QueryBuilder, Row};

use super::location;
use super::tables::{Cells, Kind, Table, Value, names, quoted};

/// PostgreSQL takes 65 535 parameters in a statement.
const PARAMETERS: usize = 60_000;
/// So many rows are added at once, if they have few columns.
const ROWS: usize = 1_000;
/// What the migrations fill, which says nothing about whether a database is used.
const FURNISHED: [&str; 2] = ["sites", "seats"];

/// References: the table, the name, and what makes it.
const REFERENCES: &str = "SELECT conrelid::regclass::text, conname::text, pg_get_constraintdef(oid) \
    FROM pg_constraint WHERE contype = 'f' AND connamespace = current_schema()::regnamespace";

/// A database that is being filled.
#[derive(Debug)]
pub struct Target {
    db: PgConnection,
    references: Vec<(String, String, String)>,
}

impl Target {
    /// Begins to fill a database; what is in its tables is gone with the commit.
    ///
    /// # Errors
    /// It cannot be reached, or its references not be taken off.
    pub async fn begin(server: &location::Postgres) -> Result<Self, sqlx::Error> {
        let mut db = PgConnection::connect(&server.url).await?;
        sqlx::query("BEGIN").execute(&mut db).await?;
        let turn = format!(
            "SELECT pg_advisory_xact_lock({})",
            super::connection::WRITING
        );
        sqlx::query(AssertSqlSafe(turn)).execute(&mut db).await?;
        let references: Vec<(String, String, String)> =
            sqlx::query_as(REFERENCES).fetch_all(&mut db).await?;
        for (table, name, _) in &references {
            let off = format!("ALTER TABLE {table} DROP CONSTRAINT {}", quoted(name));
            sqlx::query(AssertSqlSafe(off)).execute(&mut db).await?;
        }
        Ok(Self { db, references })
    }

    /// The first table that somebody put a row into, if there is one.
    ///
    /// # Errors
    /// The tables cannot be read.
    pub async fn used(&mut self, tables: &[Table]) -> Result<Option<String>, sqlx::Error> {
        let tables = tables.iter().map(|table| &table.name);
        for name in tables.filter(|name| !FURNISHED.contains(&name.as_str())) {
            let sql = format!("SELECT EXISTS (SELECT 1 FROM {})", quoted(name));
            if sqlx::query_scalar(AssertSqlSafe(sql))
                .fetch_one(&mut self.db)
                .await?
            {
                return Ok(Some(name.clone()));
            }
        }
        Ok(None)
    }

    /// Removes the rows of a table.
    ///
    /// # Errors
    /// They cannot be removed.
    pub async fn clear(&mut self, table: &Table) -> Result<(), sqlx::Error> {
        let sql = format!("DELETE FROM {}", quoted(&table.name));
        sqlx::query(AssertSqlSafe(sql))
            .execute(&mut self.db)
            .await?;
        Ok(())
    }

    /// How many rows of a table are added at once.
    pub fn rows_at_once(table: &Table) -> usize {
        (PARAMETERS / table.columns.len().max(1)).clamp(1, ROWS)
    }

    /// Adds rows, at most [`Target::rows_at_once`].
    ///
    /// # Errors
    /// One breaks a rule of the schema, or the database cannot be written.
    pub async fn add(&mut self, table: &Table, rows: Vec<Cells>) -> Result<(), sqlx::Error> {
        if rows.is_empty() {
            return Ok(());
        }
        let mut insert: QueryBuilder<Postgres> = QueryBuilder::new(format!(
            "INSERT INTO {} ({}) ",
            quoted(&table.name),
            names(table.columns.iter().map(|column| &column.name))
        ));
        insert.push_values(rows, |mut row, cells| {
            for (cell, column) in cells.into_iter().zip(&table.columns) {
                match cell {
                    Some(Value::Integer(value)) => row.push_bind(value),
                    Some(Value::Real(value)) => row.push_bind(value),
                    Some(Value::Text(value)) => row.push_bind(value),
                    Some(Value::Uuid(value)) => row.push_bind(value),
                    Some(Value::Boolean(value)) => row.push_bind(value),
                    Some(Value::Bytes(value)) => row.push_bind(value),
                    None => match column.kind {
                        Kind::Integer => row.push_bind(None::<i64>),
                        Kind::Real => row.push_bind(None::<f64>),
                        Kind::Text => row.push_bind(None::<String>),
                        Kind::Uuid => row.push_bind(None::<uuid::Uuid>),
                        Kind::Boolean => row.push_bind(None::<bool>),
                        Kind::Bytes => row.push_bind(None::<Vec<u8>>),
                    },
                };
            }
        });
        insert.build().execute(&mut self.db).await?;
        Ok(())
    }

    /// The rows of a table in the order of its key, as [`Table::walk`] gives those of a file.
    pub fn walk<'d>(&'d mut self, table: &Table) -> Walk<'d> {
        let sql = table.selection();
        Walk {
            kinds: table.columns.iter().map(|column| column.kind).collect(),
            rows: sqlx::query(AssertSqlSafe(sql)).fetch(&mut self.db),
        }
    }

    /// Makes the references anew, lets numbered keys go on after the last, and keeps it all.
    ///
    /// # Errors
    /// A row refers to one that is not there, or the commit fails: nothing is kept then.
    pub async fn finish(mut self, tables: &[Table]) -> Result<(), sqlx::Error> {
        for (table, name, made) in &self.references {
            let on = format!("ALTER TABLE {table} ADD CONSTRAINT {} {made}", quoted(name));
            sqlx::query(AssertSqlSafe(on)).execute(&mut self.db).await?;
        }
        for table in tables {
            self.number_on(table).await?;
        }
        sqlx::query("COMMIT").execute(&mut self.db).await?;
        self.db.close().await
    }

    async fn number_on(&mut self, table: &Table) -> Result<(), sqlx::Error> {
        let (name, numbered) = (quoted(&table.name), &table.columns);
        for column in numbered.iter().filter(|it| it.kind == Kind::Integer) {
            let sql = format!(
                "SELECT setval(sequence, coalesce((SELECT max({}) FROM {name}), 0) + 1, false) \
                 FROM pg_get_serial_sequence($1, $2) AS sequence WHERE sequence IS NOT NULL",
                quoted(&column.name)
            );
            sqlx::query(AssertSqlSafe(sql))
                .bind(&name)
                .bind(&column.name)
                .execute(&mut self.db)
                .await?;
        }
        Ok(())
    }
}

/// The rows of a table on their way.
pub struct Walk<'d> {
    kinds: Vec<Kind>,
    rows: Pin<Box<dyn Stream<Item = Result<PgRow, sqlx::Error>> + Send + 'd>>,
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

fn value(row: &PgRow, index: usize, kind: Kind) -> Result<Option<Value>, sqlx::Error> {
    Ok(match kind {
        Kind::Integer => row.try_get::<Option<i64>, _>(index)?.map(Value::Integer),
        Kind::Real => row.try_get::<Option<f64>, _>(index)?.map(Value::Real),
        Kind::Text => row.try_get::<Option<String>, _>(index)?.map(Value::Text),
        Kind::Uuid => row
            .try_get(index)
            .map(|it: Option<uuid::Uuid>| it.map(Value::Uuid))?,
        Kind::Boolean => row.try_get::<Option<bool>, _>(index)?.map(Value::Boolean),
        Kind::Bytes => row.try_get::<Option<Vec<u8>>, _>(index)?.map(Value::Bytes),
    })
}
