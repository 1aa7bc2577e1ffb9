//! Whether the service works.

use types::Health;

use crate::{Client, Error};

impl Client {
    /// Whether the service runs.
    pub async fn get_health(&self) -> Result<Health, Error> {
        self.get(&["healthz"]).await
    }

    /// Whether the service can do its work: its database answers.
    pub async fn get_readiness(&self) -> Result<Health, Error> {
        self.get(&["readyz"]).await
    }
}
