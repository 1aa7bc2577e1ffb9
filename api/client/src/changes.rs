//! What changed.

use types::{Changes, GetChanges};

use crate::{Client, Error};

impl Client {
    /// What changed since an instant, and what is to be done next.
    pub async fn get_changes(&self, query: &GetChanges) -> Result<Changes, Error> {
        self.get_with(&["v1", "changes"], query).await
    }
}
