//! Operations on torches and on what is fitted in them.

use types::page::Page;
use types::{NewSetUp, NewTorch, SetUp, Torch, TorchPage};

use crate::{Client, Error};

impl Client {
    /// A page of the torches.
    pub async fn list_torches(&self, page: &Page) -> Result<TorchPage, Error> {
        self.get_with(&["v1", "torches"], page).await
    }

    /// Sets up a torch.
    pub async fn create_torch(&self, torch: &NewTorch) -> Result<Torch, Error> {
        self.create(&["v1", "torches"], torch).await
    }

    /// One torch.
    pub async fn get_torch(&self, torch: &str) -> Result<Torch, Error> {
        self.get(&["v1", "torches", torch]).await
    }

    /// Replaces the torch that had this version.
    pub async fn replace_torch(
        &self,
        torch: &str,
        new: &NewTorch,
        version: i64,
    ) -> Result<Torch, Error> {
        self.replace(&["v1", "torches", torch], new, version).await
    }

    /// What is fitted in a torch.
    pub async fn get_set_up(&self, torch: &str) -> Result<SetUp, Error> {
        self.get(&["v1", "torches", torch, "set-up"]).await
    }

    /// Says what is fitted from now on in the torch that had this version.
    pub async fn replace_set_up(
        &self,
        torch: &str,
        new: &NewSetUp,
        version: i64,
    ) -> Result<SetUp, Error> {
        self.replace(&["v1", "torches", torch, "set-up"], new, version)
            .await
    }
}
