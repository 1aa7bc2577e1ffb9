//! The count list.

use types::{CountList, GetCountList};

use crate::{Client, Error};

impl Client {
    /// Which drawers to count now.
    pub async fn get_count_list(&self, query: &GetCountList) -> Result<CountList, Error> {
        self.get_with(&["v1", "count-list"], query).await
    }
}
