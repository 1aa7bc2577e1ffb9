//! Operations on the shop's own bands of current.

use types::page::Page;
use types::{CurrentBand, CurrentBandPage, NewCurrentBand};
use uuid::Uuid;

use crate::{Client, Error};

impl Client {
    /// A page of the current bands.
    pub async fn list_current_bands(&self, page: &Page) -> Result<CurrentBandPage, Error> {
        self.get_with(&["v1", "current-bands"], page).await
    }

    /// Sets a current band.
    pub async fn create_current_band(&self, new: &NewCurrentBand) -> Result<CurrentBand, Error> {
        self.create(&["v1", "current-bands"], new).await
    }

    /// One current band.
    pub async fn get_current_band(&self, band: Uuid) -> Result<CurrentBand, Error> {
        self.get(&["v1", "current-bands", &band.to_string()]).await
    }

    /// Replaces the current band that had this version.
    pub async fn replace_current_band(
        &self,
        band: Uuid,
        new: &NewCurrentBand,
        version: i64,
    ) -> Result<CurrentBand, Error> {
        self.replace(&["v1", "current-bands", &band.to_string()], new, version)
            .await
    }

    /// Deletes the current band that had this version.
    pub async fn delete_current_band(&self, band: Uuid, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "current-bands", &band.to_string()], version)
            .await
    }
}
