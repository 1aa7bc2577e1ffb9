//! Operations on drawers. A code names a drawer at its site only.

use types::{AtSite, Drawer, DrawerPage, ListDrawers, NewDrawer};

use crate::{Client, Error};

impl Client {
    /// A page of the drawers of a site.
    pub async fn list_drawers(&self, query: &ListDrawers) -> Result<DrawerPage, Error> {
        self.get_with(&["v1", "drawers"], query).await
    }

    /// Sets up a drawer.
    pub async fn create_drawer(&self, drawer: &NewDrawer) -> Result<Drawer, Error> {
        self.create(&["v1", "drawers"], drawer).await
    }

    /// One drawer.
    pub async fn get_drawer(&self, drawer: &str, at: &AtSite) -> Result<Drawer, Error> {
        self.get_with(&["v1", "drawers", drawer], at).await
    }

    /// Replaces the drawer that had this version.
    pub async fn replace_drawer(
        &self,
        drawer: &str,
        at: &AtSite,
        new: &NewDrawer,
        version: i64,
    ) -> Result<Drawer, Error> {
        self.replace_with(&["v1", "drawers", drawer], at, new, version)
            .await
    }

    /// Deletes the drawer that had this version, with its photos.
    pub async fn delete_drawer(
        &self,
        drawer: &str,
        at: &AtSite,
        version: i64,
    ) -> Result<(), Error> {
        self.delete_with(&["v1", "drawers", drawer], at, version)
            .await
    }
}
