//! Sheets: answers as CSV for a spreadsheet.

use reqwest::Method;
use serde::Serialize;
use types::{
    GetElectrodeAdvice, GetKitCount, GetMatch, GetNeeds, GetTrackRecord, ListWarnings, PushSheet,
    PushTable, PushedSheet, TryFit,
};

use crate::request::{answer, text};
use crate::{Client, Error};

impl Client {
    /// Sets up courses from a sheet in CSV, and tells what became of each row.
    pub async fn push_courses_sheet(
        &self,
        csv: &str,
        how: &PushSheet,
    ) -> Result<PushedSheet, Error> {
        let request = self.request(Method::POST, &["v1", "sheets", "courses.csv"])?;
        let request = request
            .query(how)
            .header("Content-Type", "text/csv")
            .header("Accept", "application/json");
        answer(request.body(csv.to_owned())).await
    }

    /// Pushes a file of counts, use or receipts (`counts`, `usage` or `receipts`), and tells what became of each row.
    /// The form of the file is told by its media type, or by `name` in `how`.
    pub async fn push_table_sheet(
        &self,
        table: &str,
        (file, media_type): (Vec<u8>, &str),
        how: &PushTable,
    ) -> Result<PushedSheet, Error> {
        let request = self.request(Method::POST, &["v1", "sheets", table])?;
        let request = request
            .query(how)
            .header("Content-Type", media_type)
            .header("Accept", "application/json");
        answer(request.body(file)).await
    }

    /// The advice on electrodes as a sheet: a row a diameter, column and table.
    pub async fn get_electrode_advice_sheet(
        &self,
        query: &GetElectrodeAdvice,
    ) -> Result<String, Error> {
        let segments = ["v1", "sheets", "electrodes", "advice.csv"];
        self.sheet(&segments, query).await
    }

    /// The check of a kit for a torch as a sheet: a row a slot.
    pub async fn check_kit_sheet(&self, torch: &str, kit: &str) -> Result<String, Error> {
        let segments = ["v1", "sheets", "torches", torch, "kits", kit, "check.csv"];
        self.sheet(&segments, &()).await
    }

    /// The count of complete kits of one kind as a sheet.
    pub async fn count_kit_sheet(&self, kit: &str, query: &GetKitCount) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "kits", kit, "count.csv"], query)
            .await
    }

    /// Parts tried on a torch as a sheet: the faults, and the parts of each way out.
    pub async fn try_fit_sheet(&self, torch: &str, query: &TryFit) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "torches", torch, "fit.csv"], query)
            .await
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

    /// The warnings as a sheet: a row a warning.
    pub async fn get_warnings_sheet(&self, query: &ListWarnings) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "warnings.csv"], query).await
    }

    /// What a job needs as a sheet: a row a part.
    pub async fn get_job_needs_sheet(&self, job: &str, query: &GetNeeds) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "jobs", job, "needs.csv"], query)
            .await
    }

    /// What a course needs as a sheet: a row a part.
    pub async fn get_course_needs_sheet(
        &self,
        course: &str,
        query: &GetNeeds,
    ) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "courses", course, "needs.csv"], query)
            .await
    }

    /// How forecasts did as a sheet: a row a part and method.
    pub async fn get_track_record_sheet(&self, query: &GetTrackRecord) -> Result<String, Error> {
        self.sheet(&["v1", "sheets", "track-record.csv"], query)
            .await
    }

    /// A sheet as it came.
    async fn sheet(&self, segments: &[&str], query: &impl Serialize) -> Result<String, Error> {
        text(self.request(Method::GET, segments)?.query(query)).await
    }
}
