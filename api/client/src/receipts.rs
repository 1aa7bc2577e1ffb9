//! Operations on receipts.

use types::{NewReceipt, Recorded};

use crate::{Client, Error};

impl Client {
    /// Records goods that came in.
    pub async fn record_receipt(
        &self,
        receipt: &NewReceipt,
        idempotency_key: &str,
    ) -> Result<Recorded, Error> {
        self.record(&["v1", "receipts"], receipt, idempotency_key)
            .await
    }
}
