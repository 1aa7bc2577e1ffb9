//! Advice on electrodes.

use types::{ElectrodeAdvice, GetElectrodeAdvice};

use crate::{Client, Error};

impl Client {
    /// Which electrode suits a current, and what goes with it.
    pub async fn get_electrode_advice(
        &self,
        query: &GetElectrodeAdvice,
    ) -> Result<ElectrodeAdvice, Error> {
        self.get_with(&["v1", "electrodes", "advice"], query).await
    }
}
