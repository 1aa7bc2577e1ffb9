//! Import: an export becomes a database. Everything is checked before anything is written, all of it
//! is written or nothing, and what follows from the ledger is computed anew and must be what was
//! exported. Whoever calls holds the lock of the database.

use std::path::Path;

use sea_orm::sqlx::{self, Connection, SqliteConnection};

use super::manifest::{FILE, Manifest, Sheet};
use super::place::{self, Draft};
use super::{Copied, Progress};
use crate::cli::{Failure, chain};
use crate::service::rebuild::{Rebuilt, rebuild};
use crate::service::{Clock, Context};
use crate::store::tables::Table;
use crate::store::{Store, file, tables};

mod rows;

use rows::Rows;

/// Fills the database, which must be empty, with an export.
///
/// # Errors
/// What went wrong, in words: file, line, column, value and what to do. Nothing was written then.
pub async fn import(
    database: &Path,
    folder: &Path,
    mut progress: Progress,
) -> Result<Copied, Failure> {
    let manifest = Manifest::read(folder)?;
    let steps = file::number_of(&manifest.schema).ok_or_else(|| {
        format!(
            "{}: the schema {} is not known here; use the version that wrote it, or a newer one",
            folder.join(FILE).display(),
            manifest.schema
        )
    })?;
    let database = place::real(database)?;
    expect_empty(&database).await?;
    let draft = Draft::beside(&database)?;
    file::lay_down(&draft.file, steps)
        .await
        .map_err(|error| chain(&error))?;
    let broken = |error: sqlx::Error| format!("{}: {}", database.display(), chain(&error));
    let mut db = file::open_to_fill(&draft.file).await.map_err(broken)?;
    let tables = tables::all(&mut db).await.map_err(broken)?;
    expect_tables(folder, &manifest, &tables)?;
    for (table, sheet) in tables.iter().zip(&manifest.tables) {
        check(folder, table, sheet, &mut progress)?;
    }
    fill(&mut db, folder, (&manifest, &tables), &mut progress).await?;
    db.close().await.map_err(broken)?;
    expect_same(&draft.file).await?;
    let found = file::check(&draft.file)
        .await
        .map_err(|error| chain(&error))?;
    let bytes = place::length(&draft.file);
    if database.exists() {
        // It is empty, and nobody has it open.
        std::fs::remove_file(&database).map_err(|error| error.to_string())?;
    }
    draft.put(&database)?;
    Ok(Copied { bytes, found })
}

/// What a new database has: one site, and the seats that are usual.
const NEW: [(&str, u64); 2] = [("sites", 1), ("seats", 36)];

/// Refuses a database that holds more than a new one.
async fn expect_empty(database: &Path) -> Result<(), Failure> {
    if place::length(database) == 0 {
        return Ok(());
    }
    let told = database.display();
    let broken = |error: &dyn std::error::Error| format!("{told}: {}", chain(error));
    file::fold(database).await.map_err(|error| broken(&error))?;
    let mut db = file::open_to_read(database)
        .await
        .map_err(|error| broken(&error))?;
    file::last_step(&mut db)
        .await
        .map_err(|error| broken(&error))?;
    for table in tables::all(&mut db).await.map_err(|error| broken(&error))? {
        let rows = table.rows(&mut db).await.map_err(|error| broken(&error))?;
        let new = NEW.iter().find(|(name, _)| *name == table.name);
        if rows > new.map_or(0, |(_, rows)| *rows) {
            return Err(format!(
                "{told} is not empty: its table {} has {rows} rows; name another database with \
                 --database FILE",
                table.name
            ));
        }
    }
    db.close().await.map_err(|error| broken(&error))
}

/// The manifest must have the tables of its schema, with their columns.
fn expect_tables(folder: &Path, manifest: &Manifest, tables: &[Table]) -> Result<(), Failure> {
    let path = folder.join(FILE);
    let told = path.display();
    let names: Vec<&str> = tables.iter().map(|table| &*table.name).collect();
    let has: Vec<&str> = manifest.tables.iter().map(|sheet| &*sheet.name).collect();
    if let Some(missing) = names.iter().find(|name| !has.contains(name)) {
        return Err(format!(
            "{told}: the table {missing} is missing; export again"
        ));
    }
    if let Some(unknown) = has.iter().find(|name| !names.contains(name)) {
        let schema = &manifest.schema;
        return Err(format!(
            "{told}: the schema {schema} has no table {unknown}; export again"
        ));
    }
    for (table, sheet) in tables.iter().zip(&manifest.tables) {
        let expected = Sheet {
            rows: sheet.rows,
            sha256: sheet.sha256.clone(),
            ..Sheet::of(table)
        };
        if *sheet != expected {
            let name = &sheet.name;
            return Err(format!(
                "{told}: the table {name} is not as the schema has it; export again"
            ));
        }
    }
    Ok(())
}

/// Reads a sheet to its end, so that nothing is written of an export that is not whole.
fn check(
    folder: &Path,
    table: &Table,
    sheet: &Sheet,
    progress: &mut Progress,
) -> Result<(), Failure> {
    let mut rows = Rows::open(folder, table, sheet)?;
    while rows.next()?.is_some() {
        rows.tell("Checking", progress);
    }
    rows.finish()
}

async fn fill(
    db: &mut SqliteConnection,
    folder: &Path,
    (manifest, tables): (&Manifest, &[Table]),
    progress: &mut Progress,
) -> Result<(), Failure> {
    let broken = |error: sqlx::Error| format!("the database cannot be filled: {}", chain(&error));
    sqlx::query("BEGIN IMMEDIATE")
        .execute(&mut *db)
        .await
        .map_err(broken)?;
    for table in tables {
        // The site that is there from the start comes with the export.
        table.clear(db).await.map_err(broken)?;
    }
    for (table, sheet) in tables.iter().zip(&manifest.tables) {
        let insertion = table.insertion();
        let mut rows = Rows::open(folder, table, sheet)?;
        while let Some(row) = rows.next()? {
            let line = row.line;
            tables::insert(db, &insertion, row.cells)
                .await
                .map_err(|error| rows.refused(line, &error))?;
            rows.tell("Importing", progress);
        }
        // A file that changed since it was checked is not taken either.
        rows.finish()?;
    }
    if let Some(first) = file::dangling(db).await.map_err(broken)?.first() {
        return Err(dangling(db, folder, (manifest, tables), first).await);
    }
    sqlx::query("COMMIT").execute(db).await.map_err(broken)?;
    Ok(())
}

/// Which row refers to nothing, in words.
async fn dangling(
    db: &mut SqliteConnection,
    folder: &Path,
    (manifest, tables): (&Manifest, &[Table]),
    found: &file::Dangling,
) -> Failure {
    let both = tables.iter().zip(&manifest.tables);
    let Some((table, sheet)) = both
        .into_iter()
        .find(|(table, _)| table.name == found.table)
    else {
        return format!("a row refers to nothing in the table {}", found.parent);
    };
    let columns = tables::reference(db, &table.name, found.fkid)
        .await
        .unwrap_or_default();
    let keys = tables::values_at(db, table, &columns, found.rowid)
        .await
        .unwrap_or_default();
    rows::dangling(folder, (table, sheet), (&columns, &keys), &found.parent)
}

/// What follows from the ledger must be what was exported.
async fn expect_same(draft: &Path) -> Result<(), Failure> {
    let store = Store::open(draft).await.map_err(|error| chain(&error))?;
    let context = Context::start(store.clone(), Clock::system());
    let rebuilt = rebuild(&context).await.map_err(|error| chain(&error));
    drop(context);
    store.close().await.map_err(|error| chain(&error))?;
    let Rebuilt {
        levels_wrong,
        wear_wrong,
        ..
    } = rebuilt?;
    if (levels_wrong, wear_wrong) == (0, 0) {
        return Ok(());
    }
    Err(format!(
        "{levels_wrong} rows of levels.csv and {wear_wrong} of wear.csv and wear_days.csv do not follow from the \
         ledger in this export; run tigstock-server rebuild where it was made, and export again"
    ))
}
