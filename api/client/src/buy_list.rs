//! The buy list.

use types::{BuyList, GetBuyList};

use crate::{Client, Error};

impl Client {
    /// What to buy for a site, and by when.
    pub async fn get_buy_list(&self, query: &GetBuyList) -> Result<BuyList, Error> {
        self.get_with(&["v1", "buy-list"], query).await
    }
}
