//! The commands that copy the database, and what they say of it.

use std::path::Path;

use super::{Failure, say};
use crate::config::Config;
use crate::service::Clock;
use crate::store::Location;
use crate::upkeep::{self, Lock, Progress};

/// What copies a database of PostgreSQL, and puts a copy back.
const DUMP: &str = "PostgreSQL's own are pg_dump and pg_restore";
/// What exports one.
const COPY: &str = "PostgreSQL's own are COPY and pg_dump";
/// What fills one.
const MOVE: &str = "import into a file, and then move that: tigstock-server move";

/// `backup FILE`.
pub(super) async fn backup(config: &Config, file: &Path) -> Result<(), Failure> {
    let copied =
        upkeep::backup::backup(&config.database_file(DUMP)?, file, Progress::begin()).await?;
    say(&format!(
        "{}: {}. Checked, and on disk.\n",
        file.display(),
        copied.says()
    ))
}

/// `restore FILE`.
pub(super) async fn restore(config: &Config, file: &Path) -> Result<(), Failure> {
    let database = config.database_file(DUMP)?;
    let _lock = Lock::take(&database, "restore")?;
    let now = Clock::system().now();
    let done = upkeep::restore::restore(&database, file, now, Progress::begin()).await?;
    let kept = done.kept.map_or_else(
        || "There was no database before.".to_owned(),
        |kept| format!("The database that was there is kept as {}.", kept.display()),
    );
    say(&format!(
        "{}: restored from {}: {}. {kept}\n",
        database.display(),
        file.display(),
        done.copied.says()
    ))
}

/// `export FOLDER`.
pub(super) async fn export(config: &Config, folder: &Path) -> Result<(), Failure> {
    let now = Clock::system().now();
    let database = config.database_file(COPY)?;
    let manifest = upkeep::export::export(&database, folder, now, Progress::begin()).await?;
    let rows: u64 = manifest.tables.iter().map(|sheet| sheet.rows).sum();
    say(&format!(
        "{}: {} tables, {rows} rows, as of {}.\n",
        folder.display(),
        manifest.tables.len(),
        manifest.made_at
    ))
}

/// `import FOLDER`.
pub(super) async fn import(config: &Config, folder: &Path) -> Result<(), Failure> {
    let database = config.database_file(MOVE)?;
    let _lock = Lock::take(&database, "import")?;
    let copied = upkeep::import::import(&database, folder, Progress::begin()).await?;
    say(&format!(
        "{}: imported from {}: {}. Stock and wear were computed anew and are the same.\n",
        database.display(),
        folder.display(),
        copied.says()
    ))
}

/// `move`.
pub(super) async fn carry(from: &Path, to: &Location) -> Result<(), Failure> {
    if !from.exists() {
        return Err(format!("{}: there is no such database", from.display()));
    }
    let _lock = Lock::take(from, "move")?;
    let carried = upkeep::carry::carry(from, to, Progress::begin()).await?;
    let rows: u64 = carried.iter().map(|table| table.rows).sum();
    for table in &carried {
        let (name, rows) = (&table.table, table.rows);
        say(&format!("{name}: {rows} rows, SHA-256 {}\n", table.sha256))?;
    }
    say(&format!(
        "{to}: {} tables, {rows} rows, each table read back and equal. {} was left as it is.\n",
        carried.len(),
        from.display()
    ))
}
