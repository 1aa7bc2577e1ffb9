//! Operations on jobs.

use reqwest::Method;
use types::page::Page;
use types::{DraftOrders, DraftedOrders, GetNeeds, Job, JobPage, Needs, NewJob, SetUpJob};

use crate::request::answer;
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

    /// Sets up a job that may have begun.
    pub async fn create_job_as(&self, job: &NewJob, how: &SetUpJob) -> Result<Job, Error> {
        let request = self.request(Method::POST, &["v1", "jobs"])?;
        answer(request.query(how).json(job)).await
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
        query: &DraftOrders,
        idempotency_key: &str,
    ) -> Result<DraftedOrders, Error> {
        self.draft_orders(&["v1", "jobs", job, "orders"], query, idempotency_key)
            .await
    }
}
