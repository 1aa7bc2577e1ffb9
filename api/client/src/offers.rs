//! Operations on offers.

use types::page::Page;
use types::{NewOffer, Offer, OfferPage};
use uuid::Uuid;

use crate::{Client, Error};

impl Client {
    /// A page of the offers.
    pub async fn list_offers(&self, page: &Page) -> Result<OfferPage, Error> {
        self.get_with(&["v1", "offers"], page).await
    }

    /// Sets up an offer.
    pub async fn create_offer(&self, offer: &NewOffer) -> Result<Offer, Error> {
        self.create(&["v1", "offers"], offer).await
    }

    /// One offer.
    pub async fn get_offer(&self, offer: Uuid) -> Result<Offer, Error> {
        self.get(&["v1", "offers", &offer.to_string()]).await
    }

    /// Replaces the offer that had this version.
    pub async fn replace_offer(
        &self,
        offer: Uuid,
        new: &NewOffer,
        version: i64,
    ) -> Result<Offer, Error> {
        self.replace(&["v1", "offers", &offer.to_string()], new, version)
            .await
    }

    /// Deletes the offer that had this version, if nothing refers to it.
    pub async fn delete_offer(&self, offer: Uuid, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "offers", &offer.to_string()], version)
            .await
    }
}
