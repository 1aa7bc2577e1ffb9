//! Operations on usage.

use types::{
    ListUsage, NewUsage, NewUsageBatch, Recorded, SumUsage, UsageBatch, UsagePage, UsageSums,
};

use crate::{Client, Error};

impl Client {
    /// A page of the usage on record.
    pub async fn list_usage(&self, query: &ListUsage) -> Result<UsagePage, Error> {
        self.get_with(&["v1", "usage"], query).await
    }

    /// Records one entry of use.
    pub async fn record_usage(
        &self,
        usage: &NewUsage,
        idempotency_key: &str,
    ) -> Result<Recorded, Error> {
        self.record(&["v1", "usage"], usage, idempotency_key).await
    }

    /// Records many entries of use, each judged alone. Each carries its own id.
    pub async fn record_usage_batch(&self, batch: &NewUsageBatch) -> Result<UsageBatch, Error> {
        self.create(&["v1", "usage", "batch"], batch).await
    }

    /// What was used, by the days or months of the site's zone.
    pub async fn sum_usage(&self, query: &SumUsage) -> Result<UsageSums, Error> {
        self.get_with(&["v1", "usage", "sums"], query).await
    }
}
