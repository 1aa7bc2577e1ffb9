//! The cautions as data.

use types::CautionList;

use crate::{Client, Error};

impl Client {
    /// Every caution with its text and where it is shown.
    pub async fn list_cautions(&self) -> Result<CautionList, Error> {
        self.get(&["v1", "cautions"]).await
    }
}
