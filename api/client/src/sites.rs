//! Operations on sites.

use types::page::Page;
use types::{NewSite, Site, SitePage};

use crate::{Client, Error};

impl Client {
    /// A page of the sites.
    pub async fn list_sites(&self, page: &Page) -> Result<SitePage, Error> {
        self.get_with(&["v1", "sites"], page).await
    }

    /// Sets up a site.
    pub async fn create_site(&self, site: &NewSite) -> Result<Site, Error> {
        self.create(&["v1", "sites"], site).await
    }

    /// One site.
    pub async fn get_site(&self, site: &str) -> Result<Site, Error> {
        self.get(&["v1", "sites", site]).await
    }

    /// Replaces the site that had this version.
    pub async fn replace_site(
        &self,
        site: &str,
        new: &NewSite,
        version: i64,
    ) -> Result<Site, Error> {
        self.replace(&["v1", "sites", site], new, version).await
    }
}
