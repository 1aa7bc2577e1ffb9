//! Operations on counts.

use types::{CountBatch, CountPage, Counted, ListCounts, NewCount, NewCountBatch};

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

    /// Records many counts, each judged alone, or only tries. Each carries its own id.
    pub async fn record_count_batch(&self, batch: &NewCountBatch) -> Result<CountBatch, Error> {
        self.create(&["v1", "counts", "batch"], batch).await
    }
}
