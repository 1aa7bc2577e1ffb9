//! Matches of the stock with a procedure.

use types::{GetMatch, ProcedureMatch};

use crate::{Client, Error};

impl Client {
    /// What of the stock of a site is what a procedure asks for, and why the rest is not.
    pub async fn match_procedure(
        &self,
        procedure: &str,
        query: &GetMatch,
    ) -> Result<ProcedureMatch, Error> {
        self.get_with(&["v1", "procedures", procedure, "match"], query)
            .await
    }
}
