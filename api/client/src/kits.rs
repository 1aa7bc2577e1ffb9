//! Operations on kits.

use types::page::Page;
use types::{Kit, KitPage, NewKit};

use crate::{Client, Error};

impl Client {
    /// A page of the kits.
    pub async fn list_kits(&self, page: &Page) -> Result<KitPage, Error> {
        self.get_with(&["v1", "kits"], page).await
    }

    /// Sets up a kit.
    pub async fn create_kit(&self, kit: &NewKit) -> Result<Kit, Error> {
        self.create(&["v1", "kits"], kit).await
    }

    /// One kit.
    pub async fn get_kit(&self, kit: &str) -> Result<Kit, Error> {
        self.get(&["v1", "kits", kit]).await
    }

    /// Replaces the kit that had this version.
    pub async fn replace_kit(&self, kit: &str, new: &NewKit, version: i64) -> Result<Kit, Error> {
        self.replace(&["v1", "kits", kit], new, version).await
    }

    /// Deletes the kit that had this version, if nothing refers to it.
    pub async fn delete_kit(&self, kit: &str, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "kits", kit], version).await
    }
}
