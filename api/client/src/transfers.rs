//! Operations on transfers.

use types::{NewTransfer, Recorded};

use crate::{Client, Error};

impl Client {
    /// Moves pieces to another site.
    pub async fn record_transfer(
        &self,
        transfer: &NewTransfer,
        idempotency_key: &str,
    ) -> Result<Recorded, Error> {
        self.record(&["v1", "transfers"], transfer, idempotency_key)
            .await
    }
}
