//! Operations on kit counts.

use types::{GetKitCount, KitCount, KitCounts, NewKitCounts};

use crate::{Client, Error};

impl Client {
    /// How many complete kits of one kind stock makes.
    pub async fn count_kit(&self, kit: &str, query: &GetKitCount) -> Result<KitCount, Error> {
        self.get_with(&["v1", "kits", kit, "count"], query).await
    }

    /// How many complete kits of several kinds stock makes together.
    pub async fn count_kits(&self, kinds: &NewKitCounts) -> Result<KitCounts, Error> {
        self.create(&["v1", "kits", "count"], kinds).await
    }
}
