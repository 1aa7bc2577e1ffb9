//! Operations on the seats of parts.

use types::page::Page;
use types::{NewPartSeats, PartSeats, PartSeatsPage};

use crate::{Client, Error};

impl Client {
    /// A page of the seats of parts.
    pub async fn list_seats(&self, page: &Page) -> Result<PartSeatsPage, Error> {
        self.get_with(&["v1", "seats"], page).await
    }

    /// Adds the seats of a pattern or a part.
    pub async fn create_seats(&self, new: &NewPartSeats) -> Result<PartSeats, Error> {
        self.create(&["v1", "seats"], new).await
    }

    /// One entry of seats.
    pub async fn get_seats(&self, code: &str) -> Result<PartSeats, Error> {
        self.get(&["v1", "seats", code]).await
    }

    /// Replaces the entry that had this version.
    pub async fn replace_seats(
        &self,
        code: &str,
        new: &NewPartSeats,
        version: i64,
    ) -> Result<PartSeats, Error> {
        self.replace(&["v1", "seats", code], new, version).await
    }

    /// Deletes the entry that had this version.
    pub async fn delete_seats(&self, code: &str, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "seats", code], version).await
    }
}
