//! Sheets: answers as CSV for a spreadsheet.

use reqwest::Method;
use serde::Serialize;
use types::{GetElectrodeAdvice, GetMatch};

use crate::request::text;
use crate::{Client, Error};

impl Client {
    /// The advice on electrodes as a sheet: a row a diameter, column and table.
    pub async fn get_electrode_advice_sheet(
        &self,
        query: &GetElectrodeAdvice,
    ) -> Result<String, Error> {
        let segments = ["v1", "sheets", "electrodes", "advice.csv"];
        self.sheet(&segments, query).await
    }

    /// What of the stock of a site is what a procedure asks for, as a sheet: a row a candidate.
    pub async fn get_procedure_match_sheet(
        &self,
        procedure: &str,
        query: &GetMatch,
    ) -> Result<String, Error> {
        let segments = ["v1", "sheets", "procedures", procedure, "match.csv"];
        self.sheet(&segments, query).await
    }

    /// A sheet as it came.
    async fn sheet(&self, segments: &[&str], query: &impl Serialize) -> Result<String, Error> {
        text(self.request(Method::GET, segments)?.query(query)).await
    }
}
