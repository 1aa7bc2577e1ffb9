//! Export: everything in the database in open formats, one sheet a table and a manifest, as it is at
//! one instant. Tables and columns follow from the schema, so that none can be forgotten.

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::Path;

use chrono::{DateTime, SecondsFormat, Utc};
use sea_orm::sqlx::{self, Connection, SqliteConnection};

use super::manifest::{FORMAT, Hashed, Manifest, Sheet};
use super::{Progress, fields, place, sheet};
use crate::cli::{Failure, chain};
use crate::store::tables::Table;
use crate::store::{file, tables};

/// Writes everything into a folder, which must be new or empty.
///
/// # Errors
/// What went wrong, in words. No folder is left behind then.
pub async fn export(
    database: &Path,
    folder: &Path,
    now: DateTime<Utc>,
    mut progress: Progress,
) -> Result<Manifest, Failure> {
    let is_empty = |folder: &Path| fs::read_dir(folder).is_ok_and(|mut it| it.next().is_none());
    if folder.exists() && !is_empty(folder) {
        let told = folder.display();
        return Err(format!(
            "{told} is there already and not an empty folder; name a new one"
        ));
    }
    if !database.exists() {
        return Err(format!("{}: there is no such database", database.display()));
    }
    let failed = |error| format!("{}: {error}", folder.display());
    place::make_folder_of(folder)?;
    let draft = place::folder_near(folder)?;
    let manifest = write(database, draft.path(), now, &mut progress).await?;
    manifest.write(draft.path())?;
    place::settle(draft.path()).map_err(failed)?;
    if folder.exists() {
        fs::remove_dir(folder).map_err(failed)?;
    }
    fs::rename(draft.path(), folder).map_err(failed)?;
    // It has another name now; nothing is left to remove.
    let _ = draft.keep();
    place::settle(place::folder_of(folder)).map_err(failed)?;
    Ok(manifest)
}

async fn write(
    database: &Path,
    folder: &Path,
    now: DateTime<Utc>,
    progress: &mut Progress,
) -> Result<Manifest, Failure> {
    let unreadable = |error: &dyn std::error::Error| {
        format!(
            "{} cannot be exported: {}",
            database.display(),
            chain(error)
        )
    };
    let mut db = file::open_to_read(database)
        .await
        .map_err(|error| unreadable(&error))?;
    let schema = file::last_step(&mut db)
        .await
        .map_err(|error| unreadable(&error))?;
    // One transaction that reads: everything is of one instant, however long it takes.
    sqlx::query("BEGIN")
        .execute(&mut db)
        .await
        .map_err(|error| unreadable(&error))?;
    let tables = tables::all(&mut db)
        .await
        .map_err(|error| unreadable(&error))?;
    let mut sheets = Vec::with_capacity(tables.len());
    for table in &tables {
        let all = table
            .rows(&mut db)
            .await
            .map_err(|error| unreadable(&error))?;
        sheets.push(write_table(&mut db, (table, all), folder, progress).await?);
    }
    db.close().await.map_err(|error| unreadable(&error))?;
    Ok(Manifest {
        format: FORMAT,
        made_by: format!("tigstock-server {}", env!("CARGO_PKG_VERSION")),
        made_at: now.to_rfc3339_opts(SecondsFormat::Micros, true),
        schema,
        tables: sheets,
    })
}

async fn write_table(
    db: &mut SqliteConnection,
    (table, all): (&Table, u64),
    folder: &Path,
    progress: &mut Progress,
) -> Result<Sheet, Failure> {
    let mut sheet = Sheet::of(table);
    let path = folder.join(&sheet.file);
    let failed = |error: &dyn std::error::Error| format!("{}: {error}", path.display());
    let file = File::create(&path).map_err(|error| failed(&error))?;
    let mut out = BufWriter::new(Hashed::new(file));
    let names: Vec<_> = table
        .columns
        .iter()
        .map(|column| Some(column.name.clone()))
        .collect();
    sheet::write(&mut out, &names).map_err(|error| failed(&error))?;
    let mut rows = table.walk(db);
    loop {
        let cells = rows.next().await.map_err(|error| {
            let (name, row) = (&table.name, sheet.rows + 1);
            format!(
                "row {row} of the table {name} cannot be read: {}",
                chain(&error)
            )
        })?;
        let Some(cells) = cells else { break };
        let fields: Vec<_> = cells.into_iter().map(fields::write).collect();
        sheet::write(&mut out, &fields).map_err(|error| failed(&error))?;
        sheet.rows += 1;
        progress.at(&table.name, (sheet.rows, all), |rows| {
            format!("{rows} rows")
        });
    }
    let hashed = out.into_inner().map_err(|error| failed(error.error()))?;
    let (file, hash) = hashed.finish();
    file.sync_all().map_err(|error| failed(&error))?;
    sheet.sha256 = hash;
    Ok(sheet)
}
