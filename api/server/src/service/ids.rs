//! Ids of what is computed and not kept: the same for the same thing whenever it is asked for, and in no other
//! shop.

use sea_orm::ConnectionTrait;
use sha2::{Digest, Sha256};
use uuid::{Builder, Uuid};

use super::Error;
use crate::store;

/// Makes ids for what one shop tells.
#[derive(Clone, Copy, Debug)]
pub struct Ids {
    /// The first key of the shop, which is never removed, tells it from all others.
    shop: Uuid,
}

impl Ids {
    /// Those of the shop of a database.
    ///
    /// # Errors
    /// A failure of the store.
    pub async fn load(db: &impl ConnectionTrait) -> Result<Self, Error> {
        let first = store::keys::list(db, None, 1).await?.pop();
        let shop = first.map_or(Uuid::nil(), |key| key.id);
        Ok(Self { shop })
    }

    /// The id of what these words name, in the shop.
    pub fn of(self, words: &[&str]) -> Uuid {
        let mut digest = Sha256::new();
        digest.update(self.shop.as_bytes());
        for word in words {
            digest.update([0]);
            digest.update(word);
        }
        let mut bytes = [0; 16];
        bytes.copy_from_slice(&digest.finalize()[..16]);
        Builder::from_custom_bytes(bytes).into_uuid()
    }
}
