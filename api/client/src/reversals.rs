//! Operations on reversals.

use types::{NewReversal, Recorded};

use crate::{Client, Error};

impl Client {
    /// Takes an entry back: it stays on record, and a new one undoes its effect.
    pub async fn record_reversal(
        &self,
        reversal: &NewReversal,
        idempotency_key: &str,
    ) -> Result<Recorded, Error> {
        self.record(&["v1", "reversals"], reversal, idempotency_key)
            .await
    }
}
