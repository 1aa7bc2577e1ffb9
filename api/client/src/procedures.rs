//! Operations on written procedures and their revisions.

use types::{NewProcedure, NewRevision, Page, Procedure, ProcedurePage, Revision, RevisionPage};

use crate::{Client, Error};

impl Client {
    /// A page of the procedures, each with its newest revision.
    pub async fn list_procedures(&self, page: &Page) -> Result<ProcedurePage, Error> {
        self.get_with(&["v1", "procedures"], page).await
    }

    /// Enters a procedure with the revision that is in force.
    pub async fn create_procedure(&self, new: &NewProcedure) -> Result<Procedure, Error> {
        self.create(&["v1", "procedures"], new).await
    }

    /// One procedure, with its newest revision.
    pub async fn get_procedure(&self, procedure: &str) -> Result<Procedure, Error> {
        self.get(&["v1", "procedures", procedure]).await
    }

    /// A page of the revisions of a procedure.
    pub async fn list_revisions(
        &self,
        procedure: &str,
        page: &Page,
    ) -> Result<RevisionPage, Error> {
        let path = ["v1", "procedures", procedure, "revisions"];
        self.get_with(&path, page).await
    }

    /// Enters a new revision of a procedure.
    pub async fn create_revision(
        &self,
        procedure: &str,
        new: &NewRevision,
    ) -> Result<Revision, Error> {
        let path = ["v1", "procedures", procedure, "revisions"];
        self.create(&path, new).await
    }

    /// One revision of a procedure.
    pub async fn get_revision(&self, procedure: &str, revision: i64) -> Result<Revision, Error> {
        let revision = revision.to_string();
        self.get(&["v1", "procedures", procedure, "revisions", &revision])
            .await
    }
}
