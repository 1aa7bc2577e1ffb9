//! Operations on jobs.

use reqwest::Method;
use types::page::Page;
use types::{DraftJobOrders, DraftedOrders, GetNeeds, Job, JobPage, Needs, NewJob};

use crate::request::{IDEMPOTENCY_KEY, answer};
use crate::{Client, Error};

impl Client {
    /// A page of the jobs.
    pub async fn list_jobs(&self, page: &Page) -> Result<JobPage, Error> {
        self.get_with(&["v1", "jobs"], page).await
    }

    /// Sets up a job.
    pub async fn create_job(&self, job: &NewJob) -> Result<Job, Error> {
        self.create(&["v1", "jobs"], job).await
    }

    /// One job.
    pub async fn get_job(&self, job: &str) -> Result<Job, Error> {
        self.get(&["v1", "jobs", job]).await
    }

    /// Replaces the job that had this version.
    pub async fn replace_job(&self, job: &str, new: &NewJob, version: i64) -> Result<Job, Error> {
        self.replace(&["v1", "jobs", job], new, version).await
    }

    /// Deletes the job that had this version, if nothing refers to it.
    pub async fn delete_job(&self, job: &str, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "jobs", job], version).await
    }

    /// What a job needs: will it run without a stop, and if not, which order fixes it?
    pub async fn get_job_needs(&self, job: &str, query: &GetNeeds) -> Result<Needs, Error> {
        self.get_with(&["v1", "jobs", job, "needs"], query).await
    }

    /// Drafts the orders that a job needs, one a supplier.
    pub async fn draft_job_orders(
        &self,
        job: &str,
        query: &DraftJobOrders,
        idempotency_key: &str,
    ) -> Result<DraftedOrders, Error> {
        let request = self.request(Method::POST, &["v1", "jobs", job, "orders"])?;
        answer(
            request
                .query(query)
                .header(IDEMPOTENCY_KEY, idempotency_key),
        )
        .await
    }
}
