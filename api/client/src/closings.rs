//! The end of jobs and courses.

use reqwest::Method;
use types::{Closing, NewClosing};

use crate::request::{IDEMPOTENCY_KEY, answer, done};
use crate::{Client, Error};

impl Client {
    /// Closes a job.
    pub async fn close_job(
        &self,
        job: &str,
        closing: &NewClosing,
        idempotency_key: &str,
    ) -> Result<Closing, Error> {
        self.close(["jobs", job], closing, idempotency_key).await
    }

    /// How a job ended.
    pub async fn get_job_closing(&self, job: &str) -> Result<Closing, Error> {
        self.get(&["v1", "jobs", job, "closing"]).await
    }

    /// Opens a job again.
    pub async fn reopen_job(&self, job: &str) -> Result<(), Error> {
        self.reopen(["jobs", job]).await
    }

    /// Closes a course.
    pub async fn close_course(
        &self,
        course: &str,
        closing: &NewClosing,
        idempotency_key: &str,
    ) -> Result<Closing, Error> {
        self.close(["courses", course], closing, idempotency_key)
            .await
    }

    /// How a course ended.
    pub async fn get_course_closing(&self, course: &str) -> Result<Closing, Error> {
        self.get(&["v1", "courses", course, "closing"]).await
    }

    /// Opens a course again.
    pub async fn reopen_course(&self, course: &str) -> Result<(), Error> {
        self.reopen(["courses", course]).await
    }

    async fn close(
        &self,
        [kind, code]: [&str; 2],
        closing: &NewClosing,
        idempotency_key: &str,
    ) -> Result<Closing, Error> {
        let request = self.request(Method::POST, &["v1", kind, code, "closing"])?;
        let request = request.header(IDEMPOTENCY_KEY, idempotency_key);
        answer(request.json(closing)).await
    }

    async fn reopen(&self, [kind, code]: [&str; 2]) -> Result<(), Error> {
        let request = self.request(Method::POST, &["v1", kind, code, "reopen"])?;
        done(request).await
    }
}
