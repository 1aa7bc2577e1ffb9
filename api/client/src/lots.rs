//! Operations on lots.

use types::{GetTrace, LotHold, NewLotHold, Trace};

use crate::{Client, Error};

impl Client {
    /// Where the pieces of a lot are.
    pub async fn trace_lot(&self, lot: &str, query: &GetTrace) -> Result<Trace, Error> {
        self.get_with(&["v1", "lots", lot, "trace"], query).await
    }

    /// Puts what is left of a lot on hold.
    pub async fn hold_lot(
        &self,
        lot: &str,
        hold: &NewLotHold,
        idempotency_key: &str,
    ) -> Result<LotHold, Error> {
        self.record(&["v1", "lots", lot, "hold"], hold, idempotency_key)
            .await
    }

    /// Frees what is on hold of a lot.
    pub async fn release_lot(
        &self,
        lot: &str,
        hold: &NewLotHold,
        idempotency_key: &str,
    ) -> Result<LotHold, Error> {
        self.record(&["v1", "lots", lot, "release"], hold, idempotency_key)
            .await
    }
}
