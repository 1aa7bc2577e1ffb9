//! Operations on the wear of torches.

use types::{GetTorchWear, TorchWear};

use crate::{Client, Error};

impl Client {
    /// Whether a torch uses parts faster than the others, and what to check.
    pub async fn get_torch_wear(
        &self,
        torch: &str,
        query: &GetTorchWear,
    ) -> Result<TorchWear, Error> {
        self.get_with(&["v1", "torches", torch, "wear"], query)
            .await
    }
}
