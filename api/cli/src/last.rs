//! The last entry that was made on this computer, so that `undo` knows what to take back.

use std::path::{Path, PathBuf};
use std::{fs, io};

use client::private;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::entry::{Answer, Entry};
use crate::failure::Failure;

/// The last entry.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "state", rename_all = "kebab-case")]
pub(crate) enum Last {
    /// It is with the service, under this name.
    Recorded {
        key: String,
        entry: Uuid,
        what: String,
    },
    /// It is kept here under this key.
    Kept { key: String, what: String },
    /// It was kept aside, and this question asks about it.
    Aside { key: String, question: i64 },
    /// It was the arrival of an order, which is an entry for each part.
    Arrival { key: String, order: i64 },
}

impl Last {
    /// The entry, kept here.
    pub(crate) fn kept(key: &str, entry: &Entry) -> Self {
        match entry {
            Entry::Arrival { order, .. } => Self::Arrival {
                key: key.to_owned(),
                order: *order,
            },
            Entry::Usage(_)
            | Entry::Receipt(_)
            | Entry::Count(_)
            | Entry::Movement(_)
            | Entry::Transfer(_)
            | Entry::Stubs(_) => Self::Kept {
                key: key.to_owned(),
                what: entry.describe(),
            },
        }
    }

    /// The same entry after the service answered.
    pub(crate) fn recorded(key: &str, entry: &Entry, answer: &Answer) -> Self {
        let recorded = |entry_id, what| Self::Recorded {
            key: key.to_owned(),
            entry: entry_id,
            what,
        };
        match answer {
            Answer::Recorded(answer) => recorded(answer.entry, entry.describe()),
            Answer::Counted(answer) => recorded(answer.entry, entry.describe()),
            Answer::KeptAside(aside) => Self::Aside {
                key: key.to_owned(),
                question: aside.question,
            },
            Answer::Arrived(order) => Self::Arrival {
                key: key.to_owned(),
                order: order.number,
            },
        }
    }

    /// The key it was sent under.
    pub(crate) fn key(&self) -> &str {
        match self {
            Self::Recorded { key, .. }
            | Self::Kept { key, .. }
            | Self::Aside { key, .. }
            | Self::Arrival { key, .. } => key,
        }
    }

    /// The last entry; `None` if there is none that can be taken back.
    pub(crate) fn load(folder: &Path) -> Result<Option<Self>, Failure> {
        let path = path(folder);
        match fs::read(&path) {
            // A file that cannot be read costs one undo without a name, and nothing else.
            Ok(bytes) => Ok(serde_json::from_slice(&bytes).ok()),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(source) => Err(Failure::State { path, source }),
        }
    }

    /// Keeps it for the next command.
    pub(crate) fn save(&self, folder: &Path) -> Result<(), Failure> {
        let path = path(folder);
        serde_json::to_vec(self)
            .map_err(io::Error::from)
            .and_then(|bytes| private::replace(&path, &bytes))
            .map_err(|source| Failure::State { path, source })
    }

    /// Forgets it: an entry is taken back once.
    pub(crate) fn forget(folder: &Path) -> Result<(), Failure> {
        let path = path(folder);
        match fs::remove_file(&path) {
            Err(source) if source.kind() != io::ErrorKind::NotFound => {
                Err(Failure::State { path, source })
            }
            Ok(()) | Err(_) => Ok(()),
        }
    }
}

fn path(folder: &Path) -> PathBuf {
    folder.join("last-entry.json")
}
