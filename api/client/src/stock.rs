//! Operations on stock.

use types::{GetStock, ListStock, Stock, StockExplanation, StockPage};

use crate::{Client, Error};

impl Client {
    /// A page of the stock of a site.
    pub async fn list_stock(&self, query: &ListStock) -> Result<StockPage, Error> {
        self.get_with(&["v1", "stock"], query).await
    }

    /// The stock of one part.
    pub async fn get_stock(&self, part: &str, query: &GetStock) -> Result<Stock, Error> {
        self.get_with(&["v1", "stock", part], query).await
    }

    /// How the stock figure of a part came about.
    pub async fn explain_stock(
        &self,
        part: &str,
        query: &GetStock,
    ) -> Result<StockExplanation, Error> {
        self.get_with(&["v1", "stock", part, "explanation"], query)
            .await
    }
}
