//! Operations on lulls.

use types::{ListLulls, Lull, LullPage, NewLull};
use uuid::Uuid;

use crate::{Client, Error};

impl Client {
    /// A page of the lulls of a site.
    pub async fn list_lulls(&self, query: &ListLulls) -> Result<LullPage, Error> {
        self.get_with(&["v1", "lulls"], query).await
    }

    /// Sets a lull.
    pub async fn create_lull(&self, new: &NewLull) -> Result<Lull, Error> {
        self.create(&["v1", "lulls"], new).await
    }

    /// One lull.
    pub async fn get_lull(&self, lull: Uuid) -> Result<Lull, Error> {
        self.get(&["v1", "lulls", &lull.to_string()]).await
    }

    /// Replaces the lull that had this version.
    pub async fn replace_lull(
        &self,
        lull: Uuid,
        new: &NewLull,
        version: i64,
    ) -> Result<Lull, Error> {
        self.replace(&["v1", "lulls", &lull.to_string()], new, version)
            .await
    }

    /// Deletes the lull that had this version.
    pub async fn delete_lull(&self, lull: Uuid, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "lulls", &lull.to_string()], version)
            .await
    }
}
