//! Kit checks.

use types::KitCheck;

use crate::{Client, Error};

impl Client {
    /// Whether the stock of a torch's site makes a kit for it.
    pub async fn check_kit(&self, torch: &str, kit: &str) -> Result<KitCheck, Error> {
        self.get(&["v1", "torches", torch, "kits", kit]).await
    }
}
