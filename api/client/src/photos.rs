//! Operations on the photos of drawers: the only bodies that are not JSON.

use reqwest::Method;
use reqwest::header::CONTENT_TYPE;
use types::{AtSite, ListPhotos, Photo, PhotoPage, PictureKind};
use uuid::Uuid;

use crate::request::{answer, bytes, done};
use crate::{Client, Error};

impl Client {
    /// A page of the photos of a drawer, without the pictures.
    pub async fn list_photos(&self, drawer: &str, query: &ListPhotos) -> Result<PhotoPage, Error> {
        self.get_with(&["v1", "drawers", drawer, "photos"], query)
            .await
    }

    /// Adds a photo to a drawer; the same picture again is the photo that is there already.
    pub async fn create_photo(
        &self,
        drawer: &str,
        at: &AtSite,
        kind: PictureKind,
        picture: Vec<u8>,
    ) -> Result<Photo, Error> {
        let request = self
            .request(Method::POST, &["v1", "drawers", drawer, "photos"])?
            .query(at)
            .header(CONTENT_TYPE, kind.media_type());
        answer(request.body(picture)).await
    }

    /// The picture of a photo.
    pub async fn get_photo(
        &self,
        drawer: &str,
        photo: Uuid,
        at: &AtSite,
    ) -> Result<Vec<u8>, Error> {
        let photo = photo.to_string();
        let segments = ["v1", "drawers", drawer, "photos", &photo];
        bytes(self.request(Method::GET, &segments)?.query(at)).await
    }

    /// Deletes a photo.
    pub async fn delete_photo(&self, drawer: &str, photo: Uuid, at: &AtSite) -> Result<(), Error> {
        let photo = photo.to_string();
        let segments = ["v1", "drawers", drawer, "photos", &photo];
        done(self.request(Method::DELETE, &segments)?.query(at)).await
    }
}
