//! Operations on allocations.

use types::{Allocated, AllocationPage, ListAllocations, NewAllocation};

use crate::{Client, Error};

impl Client {
    /// A page of what jobs are promised and did not get yet.
    pub async fn list_allocations(&self, query: &ListAllocations) -> Result<AllocationPage, Error> {
        self.get_with(&["v1", "allocations"], query).await
    }

    /// Promises pieces to a job; the number is what it is promised in all.
    pub async fn record_allocation(
        &self,
        allocation: &NewAllocation,
        idempotency_key: &str,
    ) -> Result<Allocated, Error> {
        self.record(&["v1", "allocations"], allocation, idempotency_key)
            .await
    }
}
