//! Looking after the database file: one server at a time, backup and restore, export and import. What
//! a person is told about it is here too; the commands that ask for it are in `cli`.

pub mod backup;
pub mod carry;
pub mod export;
pub mod import;
pub mod lock;
pub mod manifest;
pub mod progress;
pub mod restore;
pub mod sheet;

mod fields;
mod place;

pub use lock::Lock;
pub use progress::Progress;

use crate::store::file::Found;

/// What a copy of the database holds, and when it was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Copied {
    /// Its size in bytes.
    pub bytes: u64,
    /// What is in it.
    pub found: Found,
}

impl Copied {
    /// In words: size, entries, and the newest of them.
    pub fn says(&self) -> String {
        let newest = self
            .found
            .newest
            .and_then(chrono::DateTime::from_timestamp_micros)
            .map_or_else(String::new, |at| {
                format!(", the newest of {}", at.format("%Y-%m-%d %H:%M:%S UTC"))
            });
        format!(
            "{}, {} entries{newest}",
            size(self.bytes),
            self.found.entries
        )
    }
}

/// A size for people.
pub(crate) fn size(bytes: u64) -> String {
    const KILO: u64 = 1_000;
    const MEGA: u64 = 1_000_000;
    match bytes {
        0..MEGA => format!("{} kB", bytes.div_ceil(KILO)),
        _ => format!("{}.{} MB", bytes / MEGA, bytes % MEGA / 100_000),
    }
}
