//! When a part ran out, and why.

use types::{GetRunOuts, RunOuts};

use crate::{Client, Error};

impl Client {
    /// When a part ran out, and why.
    pub async fn list_run_outs(&self, part: &str, query: &GetRunOuts) -> Result<RunOuts, Error> {
        self.get_with(&["v1", "stock", part, "run-outs"], query)
            .await
    }
}
