//! One server a file: a lock beside the database, held by whoever may change it. The system lets go
//! of it when the process ends, however it ends; so the lock file stays and means nothing by itself.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use super::place;
use crate::cli::Failure;

/// The lock of a database; it ends with the value.
#[derive(Debug)]
pub struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock of a database, which need not be there yet; its folder is made if it is missing.
    /// `purpose` is what others are told of the holder.
    ///
    /// # Errors
    /// Who holds it, and what to do; or why there can be no lock.
    pub fn take(database: &Path, purpose: &str) -> Result<Self, Failure> {
        if database.is_dir() {
            let told = database.display();
            return Err(format!("{told} is a folder; name a file in it"));
        }
        place::make_folder_of(database)?;
        let path = path(database)?;
        let failed = |error| format!("{}: the lock cannot be taken: {error}", path.display());
        let mut file = options().open(&path).map_err(failed)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(format!(
                    "{}: {} uses it; stop that first, or name another database with --database FILE",
                    database.display(),
                    holder(&mut file)
                ));
            }
            Err(TryLockError::Error(error)) => return Err(failed(error)),
        }
        let note = format!("tigstock-server {purpose}, process {}", std::process::id());
        write(&mut file, &note).map_err(failed)?;
        Ok(Self { _file: file })
    }
}

/// The lock file: the same one, by whatever path the database is named.
fn path(database: &Path) -> Result<PathBuf, Failure> {
    let mut path = place::real(database)?.into_os_string();
    path.push(".lock");
    Ok(path.into())
}

fn options() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.create(true).read(true).write(true).truncate(false);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

fn write(file: &mut File, note: &str) -> std::io::Result<()> {
    file.set_len(0)?;
    file.seek(SeekFrom::Start(0))?;
    writeln!(file, "{note}")
}

/// What the holder left in the file; some systems do not let others read a locked one.
fn holder(file: &mut File) -> String {
    let mut note = String::new();
    match file.read_to_string(&mut note) {
        Ok(_) if !note.trim().is_empty() => note.trim().to_owned(),
        Ok(_) | Err(_) => "another tigstock-server".to_owned(),
    }
}
