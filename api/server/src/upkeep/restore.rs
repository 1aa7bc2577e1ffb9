//! Restore: a backup takes the place of the database, which is kept beside it under another name.
//! Whoever calls holds the lock, so no server has the file open meanwhile.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use chrono::{DateTime, Utc};

use super::place::{self, Draft};
use super::{Copied, Progress, size};
use crate::cli::{Failure, chain};
use crate::store::file::{self, Unsound};

/// How much is copied at once.
const CHUNK: usize = 1 << 20;

/// What a restore did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Restored {
    /// What is in the database now.
    pub copied: Copied,
    /// The database that was there before, if there was one.
    pub kept: Option<PathBuf>,
}

/// Puts a backup in the place of the database.
///
/// # Errors
/// What went wrong, in words. The database is as it was then, unless it says otherwise.
pub async fn restore(
    database: &Path,
    backup: &Path,
    now: DateTime<Utc>,
    mut progress: Progress,
) -> Result<Restored, Failure> {
    let database = place::real(database)?;
    let from =
        fs::canonicalize(backup).map_err(|error| format!("{}: {error}", backup.display()))?;
    if from == database {
        let told = database.display();
        return Err(format!(
            "{told} is the database itself; name a backup of it"
        ));
    }
    let draft = Draft::beside(&database)?;
    copy(&from, &draft.file, &mut progress)?;
    // A backup that was taken by copying files may have a log of its own, with what came last.
    let log = place::beside(&from, "-wal");
    if place::length(&log) > 0 {
        copy(&log, &place::beside(&draft.file, "-wal"), &mut progress)?;
    }
    let unsound = |error: &dyn std::error::Error| {
        let told = backup.display();
        format!("{told} cannot be restored: {}", chain(error))
    };
    if place::length(&draft.file) == 0 {
        return Err(format!(
            "{} cannot be restored: it is empty",
            backup.display()
        ));
    }
    file::fold(&draft.file)
        .await
        .map_err(|error| unsound(&Unsound::from(error)))?;
    let found = file::check(&draft.file)
        .await
        .map_err(|error| unsound(&error))?;
    let bytes = place::length(&draft.file);
    let kept = set_aside(&database, now).await?;
    draft.put(&database).map_err(|why| match &kept {
        None => why,
        Some(kept) => format!("{why}; the database that was there is {}", kept.display()),
    })?;
    let copied = Copied { bytes, found };
    Ok(Restored { copied, kept })
}

fn copy(from: &Path, to: &Path, progress: &mut Progress) -> Result<(), Failure> {
    let failed = |error| format!("{} cannot be copied: {error}", from.display());
    let all = place::length(from);
    let mut source = File::open(from).map_err(failed)?;
    let mut target = File::create(to).map_err(failed)?;
    let mut chunk = vec![0; CHUNK];
    let mut done = 0;
    loop {
        let read = source.read(&mut chunk).map_err(failed)?;
        if read == 0 {
            return Ok(());
        }
        target.write_all(&chunk[..read]).map_err(failed)?;
        done += u64::try_from(read).unwrap_or(0);
        progress.at("Copying", (done, all), size);
    }
}

/// Gives the database that is there another name, with all that belongs to it.
async fn set_aside(database: &Path, now: DateTime<Utc>) -> Result<Option<PathBuf>, Failure> {
    if !database.exists() {
        remove_rests(database)?;
        return Ok(None);
    }
    if place::length(database) > 0 {
        // Its log is folded in first, so that one file is all of it. A damaged one keeps its log.
        if let Err(error) = file::fold(database).await {
            tracing::warn!(
                error = &error as &dyn std::error::Error,
                "its log stays beside it"
            );
        }
    }
    let kept = free_name(database, now);
    let failed = |error| format!("{} cannot be set aside: {error}", database.display());
    fs::rename(database, &kept).map_err(failed)?;
    let log = place::beside(database, "-wal");
    if log.exists() {
        fs::rename(&log, place::beside(&kept, "-wal")).map_err(failed)?;
    }
    remove_rests(database)?;
    Ok(Some(kept))
}

/// Removes what SQLite kept beside a database that is not there any more: it would be taken for a
/// part of the next one.
fn remove_rests(database: &Path) -> Result<(), Failure> {
    for ending in ["-wal", "-shm"] {
        let rest = place::beside(database, ending);
        if rest.exists() {
            fs::remove_file(&rest).map_err(|error| format!("{}: {error}", rest.display()))?;
        }
    }
    Ok(())
}

fn free_name(database: &Path, now: DateTime<Utc>) -> PathBuf {
    let dated = format!(".until-{}", now.format("%Y%m%dT%H%M%SZ"));
    let first = place::beside(database, &dated);
    let others = (2..).map(|number| place::beside(database, &format!("{dated}-{number}")));
    std::iter::once(first)
        .chain(others)
        .find(|name| !name.exists())
        .unwrap_or_else(|| place::beside(database, &dated))
}
