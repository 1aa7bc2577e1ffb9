//! Backup: a copy of the database while it is served, written under another name, checked, flushed,
//! and only then given its own. It never takes the place of a file that is there.

use std::path::Path;
use std::time::Duration;

use sea_orm::sqlx::Connection;

use super::place::{self, Draft};
use super::{Copied, Progress, size};
use crate::cli::{Failure, chain};
use crate::store::file;

/// How often the growing copy is looked at.
const LOOK: Duration = Duration::from_millis(200);

/// Copies the database into a new file.
///
/// # Errors
/// What went wrong, in words. Nothing is left behind then.
pub async fn backup(database: &Path, to: &Path, mut progress: Progress) -> Result<Copied, Failure> {
    if to.exists() {
        return Err(place::taken(to));
    }
    if !database.exists() {
        return Err(format!("{}: there is no such database", database.display()));
    }
    let draft = Draft::beside(to)?;
    let name = draft
        .file
        .to_str()
        .ok_or_else(|| format!("{}: give a name in plain text", to.display()))?;
    copy(database, name, &mut progress).await?;
    let found = file::check(&draft.file).await.map_err(|error| {
        format!(
            "{}: the copy is not sound, so it was thrown away; is the database? ({})",
            database.display(),
            chain(&error)
        )
    })?;
    let bytes = place::length(&draft.file);
    draft.put(to)?;
    Ok(Copied { bytes, found })
}

async fn copy(database: &Path, to: &str, progress: &mut Progress) -> Result<(), Failure> {
    let unreadable = |error: &dyn std::error::Error| {
        format!("{} cannot be copied: {}", database.display(), chain(error))
    };
    let mut db = file::open_to_read(database)
        .await
        .map_err(|error| unreadable(&error))?;
    file::last_step(&mut db)
        .await
        .map_err(|error| unreadable(&error))?;
    let all = file::size(&mut db)
        .await
        .map_err(|error| unreadable(&error))?;
    let mut look = tokio::time::interval(LOOK);
    {
        let mut copying = std::pin::pin!(file::copy_into(&mut db, to));
        loop {
            tokio::select! {
                copied = &mut copying => break copied,
                _ = look.tick() => {
                    progress.at("Copying", (place::length(Path::new(to)), all), size);
                }
            }
        }
    }
    .map_err(|error| unreadable(&error))?;
    db.close().await.map_err(|error| unreadable(&error))
}
