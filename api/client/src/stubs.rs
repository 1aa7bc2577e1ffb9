//! Operations on the stub jar.

use types::{ListStubs, NewStub, Recorded, StubPage};

use crate::{Client, Error};

impl Client {
    /// What is in the stub jar of a site.
    pub async fn list_stubs(&self, query: &ListStubs) -> Result<StubPage, Error> {
        self.get_with(&["v1", "stubs"], query).await
    }

    /// Records stubs that go into the jar or come out of it without a torch.
    pub async fn record_stubs(
        &self,
        stubs: &NewStub,
        idempotency_key: &str,
    ) -> Result<Recorded, Error> {
        self.record(&["v1", "stubs"], stubs, idempotency_key).await
    }
}
