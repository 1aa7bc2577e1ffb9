//! Operations on watches.

use types::{ListWatches, NewWatch, Watch, WatchPage};
use uuid::Uuid;

use crate::{Client, Error};

impl Client {
    /// A page of the watches of a site, with those that are there by themselves.
    pub async fn list_watches(&self, query: &ListWatches) -> Result<WatchPage, Error> {
        self.get_with(&["v1", "watches"], query).await
    }

    /// Sets a watch.
    pub async fn create_watch(&self, new: &NewWatch) -> Result<Watch, Error> {
        self.create(&["v1", "watches"], new).await
    }

    /// One watch.
    pub async fn get_watch(&self, watch: Uuid) -> Result<Watch, Error> {
        self.get(&["v1", "watches", &watch.to_string()]).await
    }

    /// Replaces the watch that had this version.
    pub async fn replace_watch(
        &self,
        watch: Uuid,
        new: &NewWatch,
        version: i64,
    ) -> Result<Watch, Error> {
        self.replace(&["v1", "watches", &watch.to_string()], new, version)
            .await
    }

    /// Removes the watch that had this version.
    pub async fn delete_watch(&self, watch: Uuid, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "watches", &watch.to_string()], version)
            .await
    }
}
