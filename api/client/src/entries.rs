//! Operations on entries of the ledger.

use types::Entry;
use uuid::Uuid;

use crate::{Client, Error};

impl Client {
    /// One entry, with what became of it.
    pub async fn get_entry(&self, entry: Uuid) -> Result<Entry, Error> {
        self.get(&["v1", "entries", &entry.to_string()]).await
    }
}
