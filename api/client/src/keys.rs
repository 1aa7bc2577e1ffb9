//! Operations on keys.

use reqwest::Method;
use types::page::Page;
use types::{CreatedKey, Key, KeyPage, NewKey, NewRotation};
use uuid::Uuid;

use crate::request::answer;
use crate::{Client, Error};

impl Client {
    /// A page of the keys, without their secrets.
    pub async fn list_keys(&self, page: &Page) -> Result<KeyPage, Error> {
        self.get_with(&["v1", "keys"], page).await
    }

    /// Makes a key. The answer is the only time that its secret is shown.
    pub async fn create_key(&self, key: &NewKey) -> Result<CreatedKey, Error> {
        self.create(&["v1", "keys"], key).await
    }

    /// Gives a key a new secret. The answer is the only time that it is shown.
    pub async fn rotate_key(&self, key: Uuid, rotation: &NewRotation) -> Result<CreatedKey, Error> {
        let path = ["v1", "keys", &key.to_string(), "rotation"];
        self.create(&path, rotation).await
    }

    /// Revokes a key: it works no more.
    pub async fn revoke_key(&self, key: Uuid) -> Result<Key, Error> {
        answer(self.request(Method::DELETE, &["v1", "keys", &key.to_string()])?).await
    }
}
