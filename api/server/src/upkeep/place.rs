//! Where files go: folders made, names that are free, files that are put there whole or not at all.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use tempfile::{TempDir, TempPath};

use crate::cli::Failure;

/// The folder of a file; the one we are in if its name is all that is told.
pub(super) fn folder_of(file: &Path) -> &Path {
    let folder = file.parent().filter(|it| !it.as_os_str().is_empty());
    folder.unwrap_or(Path::new("."))
}

/// Makes the folder of a file if it is missing.
pub(super) fn make_folder_of(file: &Path) -> Result<(), Failure> {
    let folder = folder_of(file);
    fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))
}

/// The path of a file without links on the way, also if the file is not there yet.
pub(super) fn real(file: &Path) -> Result<PathBuf, Failure> {
    let failed = |error| format!("{}: {error}", file.display());
    if file.exists() {
        return fs::canonicalize(file).map_err(failed);
    }
    let name = file
        .file_name()
        .ok_or_else(|| format!("{} is not the name of a file", file.display()))?;
    Ok(fs::canonicalize(folder_of(file))
        .map_err(failed)?
        .join(name))
}

/// The file that SQLite keeps beside a database under that ending: `-wal` or `-shm`.
pub(super) fn beside(database: &Path, ending: &str) -> PathBuf {
    let mut path = database.as_os_str().to_owned();
    path.push(ending);
    path.into()
}

/// A file on its way: empty, readable by this account alone, in a folder of its own beside the place
/// that it is to have. All of it goes away unless it is put there.
#[derive(Debug)]
pub(super) struct Draft {
    folder: TempDir,
    /// Where it is meanwhile.
    pub(super) file: PathBuf,
}

impl Draft {
    /// An empty one.
    pub(super) fn beside(place: &Path) -> Result<Self, Failure> {
        let near = folder_of(place);
        let failed = |error| format!("{}: {error}", near.display());
        let folder = folder_near(place)?;
        let file = folder.path().join("part");
        let mut options = fs::OpenOptions::new();
        options.create_new(true).write(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        options.open(&file).map_err(failed)?;
        Ok(Self { folder, file })
    }

    /// Puts it in its place, for good: on disk, under its name, and over nothing.
    pub(super) fn put(self, place: &Path) -> Result<(), Failure> {
        let failed = |error: io::Error| format!("{}: {error}", place.display());
        File::open(&self.file)
            .and_then(|draft| draft.sync_all())
            .map_err(failed)?;
        if place.exists() {
            return Err(taken(place));
        }
        let draft = TempPath::try_from_path(&self.file).map_err(failed)?;
        if let Err(refused) = draft.persist_noclobber(place) {
            if refused.error.kind() == io::ErrorKind::AlreadyExists {
                return Err(taken(place));
            }
            // Some file systems, such as those of memory sticks, cannot do both at once.
            let moved = refused.path.persist(place);
            moved.map_err(|refused| failed(refused.error))?;
        }
        drop(self.folder);
        settle(folder_of(place)).map_err(failed)
    }
}

/// A folder of its own beside a place, which goes away unless it is kept.
pub(super) fn folder_near(place: &Path) -> Result<TempDir, Failure> {
    let near = folder_of(place);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tigstock-").suffix(".part");
    #[cfg(unix)]
    let only_us = std::os::unix::fs::PermissionsExt::from_mode(0o700);
    #[cfg(unix)]
    builder.permissions(only_us);
    let made = builder.tempdir_in(near);
    made.map_err(|error| format!("{}: {error}", near.display()))
}

/// Flushes the names in a folder to disk, where the system can.
pub(super) fn settle(folder: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// That a file is there already.
pub(super) fn taken(file: &Path) -> Failure {
    format!(
        "{} is there already and is never written over; choose another name",
        file.display()
    )
}

/// The length of a file, nothing if it is not there.
pub(super) fn length(file: &Path) -> u64 {
    fs::metadata(file).map_or(0, |found| found.len())
}
