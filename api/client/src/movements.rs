//! Operations on movements.

use types::{ListMovements, MovementPage, NewMovement, Recorded};

use crate::{Client, Error};

impl Client {
    /// A page of the ledger.
    pub async fn list_movements(&self, query: &ListMovements) -> Result<MovementPage, Error> {
        self.get_with(&["v1", "movements"], query).await
    }

    /// Records a movement other than a receipt, a count or logged use.
    pub async fn record_movement(
        &self,
        movement: &NewMovement,
        idempotency_key: &str,
    ) -> Result<Recorded, Error> {
        self.record(&["v1", "movements"], movement, idempotency_key)
            .await
    }
}
