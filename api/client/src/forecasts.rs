//! Operations on forecasts.

use types::{Forecasts, ForecastsAhead, GetForecasts, GetForecastsAhead};

use crate::{Client, Error};

impl Client {
    /// How many of each part will be used, and when it runs out.
    pub async fn get_forecasts(&self, query: &GetForecasts) -> Result<Forecasts, Error> {
        self.get_with(&["v1", "forecasts"], query).await
    }

    /// Forecasts of the days to come.
    pub async fn get_forecasts_ahead(
        &self,
        query: &GetForecastsAhead,
    ) -> Result<ForecastsAhead, Error> {
        self.get_with(&["v1", "forecasts", "ahead"], query).await
    }
}
