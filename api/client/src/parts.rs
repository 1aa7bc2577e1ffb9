//! Operations on parts.

use types::page::Page;
use types::{NewPart, Part, PartPage};

use crate::{Client, Error};

impl Client {
    /// A page of the parts.
    pub async fn list_parts(&self, page: &Page) -> Result<PartPage, Error> {
        self.get_with(&["v1", "parts"], page).await
    }

    /// Sets up a part.
    pub async fn create_part(&self, part: &NewPart) -> Result<Part, Error> {
        self.create(&["v1", "parts"], part).await
    }

    /// One part.
    pub async fn get_part(&self, part: &str) -> Result<Part, Error> {
        self.get(&["v1", "parts", part]).await
    }

    /// Replaces the part that had this version.
    pub async fn replace_part(
        &self,
        part: &str,
        new: &NewPart,
        version: i64,
    ) -> Result<Part, Error> {
        self.replace(&["v1", "parts", part], new, version).await
    }

    /// Deletes the part that had this version, if nothing refers to it.
    pub async fn delete_part(&self, part: &str, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "parts", part], version).await
    }
}
