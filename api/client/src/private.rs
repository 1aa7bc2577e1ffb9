//! Files that their owner alone may read: made so from the start, and replaced in one step, so that
//! a reader sees the old content or the new one and never a part. The profile and what the command
//! line keeps are such files.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

use uuid::Uuid;

/// Puts `content` in the file at `path`, in place of what was there. It is on the disk when this
/// returns. Folders that are missing are made, for their owner alone.
///
/// # Errors
/// What the system says; the file is then as it was.
pub fn replace(path: &Path, content: &[u8]) -> io::Result<()> {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new("."));
    create_folder(folder)?;
    let beside = folder.join(format!(".{}", Uuid::now_v7()));
    let written = write_new(&beside, content).and_then(|()| fs::rename(&beside, path));
    if let Err(error) = written {
        // The first error is the one that matters.
        fs::remove_file(&beside).ok();
        return Err(error);
    }
    sync_folder(folder)
}

/// Makes the folder, and those it is in, for their owner alone; one that is there is left as it is.
///
/// # Errors
/// What the system says.
pub fn create_folder(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// Opens the file at `path` to write to its end; one that is missing is made for its owner alone.
///
/// # Errors
/// What the system says.
pub fn open_to_append(path: &Path) -> io::Result<File> {
    owner_only(OpenOptions::new().append(true).create(true)).open(path)
}

fn write_new(path: &Path, content: &[u8]) -> io::Result<()> {
    let mut file = owner_only(OpenOptions::new().write(true).create_new(true)).open(path)?;
    file.write_all(content)?;
    file.sync_all()
}

fn owner_only(options: &mut OpenOptions) -> &mut OpenOptions {
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    options
}

/// Makes a rename last through a power cut, where the system lets a folder be synchronised.
fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()
    } else {
        Ok(())
    }
}
