//! Operations on counts.

use types::{CountPage, Counted, ListCounts, NewCount};

use crate::{Client, Error};

impl Client {
    /// A page of the counts.
    pub async fn list_counts(&self, query: &ListCounts) -> Result<CountPage, Error> {
        self.get_with(&["v1", "counts"], query).await
    }

    /// Records what was counted; it beats what the book says.
    pub async fn record_count(
        &self,
        count: &NewCount,
        idempotency_key: &str,
    ) -> Result<Counted, Error> {
        self.record(&["v1", "counts"], count, idempotency_key).await
    }
}
