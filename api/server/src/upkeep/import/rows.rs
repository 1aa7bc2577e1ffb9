//! The rows of one sheet of an export, read one at a time and checked against the schema and the
//! manifest; and what is told of a row that cannot be taken.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use sea_orm::sqlx;

use crate::cli::Failure;
use crate::store::tables::{Cells, Table, Value};
use crate::upkeep::manifest::{Hashed, Sheet};
use crate::upkeep::sheet::{Reader, Spoilt};
use crate::upkeep::{Progress, fields};

/// What a quoted value is cut to.
const QUOTE_MAX: usize = 60;

/// A row, and the line that it begins in.
#[derive(Debug)]
pub(super) struct Row {
    pub(super) line: u64,
    pub(super) cells: Cells,
}

/// The rows of a sheet.
#[derive(Debug)]
pub(super) struct Rows<'e> {
    path: PathBuf,
    table: &'e Table,
    sheet: &'e Sheet,
    reader: Reader<BufReader<Hashed<File>>>,
    read: u64,
}

impl<'e> Rows<'e> {
    /// Opens a sheet and reads its line of names.
    pub(super) fn open(folder: &Path, table: &'e Table, sheet: &'e Sheet) -> Result<Self, Failure> {
        let path = folder.join(&sheet.file);
        let file = File::open(&path)
            .map_err(|error| format!("{}: {error}; export again", path.display()))?;
        let reader = Reader::new(BufReader::new(Hashed::new(file)));
        let mut rows = Self {
            path,
            table,
            sheet,
            reader,
            read: 0,
        };
        let names = rows.reader.next_record();
        let names = names.map_err(|spoilt| rows.spoilt(&spoilt))?;
        let names = names.map_or_else(Vec::new, |record| record.fields);
        let should = table.columns.iter().map(|column| column.name.as_str());
        if !names
            .iter()
            .map(|name| name.as_deref().unwrap_or_default())
            .eq(should)
        {
            let columns = sheet.columns.iter().map(|column| column.name.as_str());
            let columns: Vec<&str> = columns.collect();
            return Err(format!(
                "{}, line 1: the columns are not those of the manifest; give {}",
                rows.path.display(),
                columns.join(",")
            ));
        }
        Ok(rows)
    }

    /// The next row, or nothing at the end.
    pub(super) fn next(&mut self) -> Result<Option<Row>, Failure> {
        let record = self.reader.next_record();
        let Some(record) = record.map_err(|spoilt| self.spoilt(&spoilt))? else {
            return Ok(None);
        };
        self.read += 1;
        let line = record.line;
        let columns = &self.table.columns;
        if record.fields.len() != columns.len() {
            return Err(format!(
                "{}, line {line}: {} fields; give {}, one a column",
                self.path.display(),
                record.fields.len(),
                columns.len()
            ));
        }
        let cells = record.fields.iter().zip(columns).map(|(field, column)| {
            fields::read(field.as_deref(), column).map_err(|why| {
                let value = field
                    .as_deref()
                    .map_or_else(|| "nothing".to_owned(), quoted);
                let path = self.path.display();
                format!("{path}, line {line}, column {}: {value} {why}", column.name)
            })
        });
        let cells = cells.collect::<Result<_, _>>()?;
        Ok(Some(Row { line, cells }))
    }

    /// Checks what was read against the manifest.
    pub(super) fn finish(self) -> Result<(), Failure> {
        let told = self.path.display();
        if self.read != self.sheet.rows {
            return Err(format!(
                "{told}: {} rows, and the manifest says {}; some are missing or were added: export again",
                self.read, self.sheet.rows
            ));
        }
        let (_, hash) = self.reader.into_inner().into_inner().finish();
        if hash != self.sheet.sha256 {
            return Err(format!(
                "{told}: its SHA-256 is {hash}, and the manifest says {}; the file was changed since \
                 the export, as by a program that opened and saved it: take the one that was exported",
                self.sheet.sha256
            ));
        }
        Ok(())
    }

    /// Says how far it is.
    pub(super) fn tell(&self, doing: &str, progress: &mut Progress) {
        let what = format!("{doing} {}", self.table.name);
        progress.at(&what, (self.read, self.sheet.rows), |rows| {
            format!("{rows} rows")
        });
    }

    /// That the database does not take a row.
    pub(super) fn refused(&self, line: u64, error: &sqlx::Error) -> Failure {
        let (told, key) = (self.path.display(), self.sheet.key.join(" and "));
        let is_double = error
            .as_database_error()
            .is_some_and(sqlx::error::DatabaseError::is_unique_violation);
        if is_double {
            return format!(
                "{told}, line {line}: another line has the same {key}, or another value that may \
                 stand only once; export again"
            );
        }
        format!("{told}, line {line}: the database refuses it: {error}")
    }

    fn spoilt(&self, spoilt: &Spoilt) -> Failure {
        format!(
            "{}, line {}: {}",
            self.path.display(),
            spoilt.line,
            spoilt.why
        )
    }
}

/// A value as it is quoted in words, cut where it is long.
fn quoted(value: &str) -> String {
    let mut cut: String = value.chars().take(QUOTE_MAX).collect();
    if cut.len() < value.len() {
        cut.push('…');
    }
    format!("\"{}\"", cut.escape_debug())
}

/// That a row refers to one that is not there: the first line whose columns hold those values.
pub(super) fn dangling(
    folder: &Path,
    (table, sheet): (&Table, &Sheet),
    (columns, values): (&[String], &[Option<Value>]),
    parent: &str,
) -> Failure {
    let places: Vec<usize> = columns
        .iter()
        .filter_map(|name| table.columns.iter().position(|column| column.name == *name))
        .collect();
    let told = folder.join(&sheet.file);
    let told = told.display();
    let value = values.iter().cloned().map(fields::write);
    let value: Vec<String> = value
        .map(|value| quoted(&value.unwrap_or_default()))
        .collect();
    let mut line = String::new();
    if let Ok(mut rows) = Rows::open(folder, table, sheet) {
        while let Ok(Some(row)) = rows.next() {
            if places.iter().map(|place| &row.cells[*place]).eq(values) {
                line = format!(", line {}", row.line);
                break;
            }
        }
    }
    format!(
        "{told}{line}, column {}: {} is not in {parent}.csv; export again",
        columns.join(" and "),
        value.join(" and ")
    )
}
