//! Operations on equivalences.

use types::{Equivalence, EquivalencePage, NewEquivalence, NewWithdrawal, Page};

use crate::{Client, Error};

impl Client {
    /// A page of what was signed for a revision of a procedure.
    pub async fn list_equivalences(
        &self,
        procedure: &str,
        revision: i64,
        page: &Page,
    ) -> Result<EquivalencePage, Error> {
        let number = revision.to_string();
        let path = [
            "v1",
            "procedures",
            procedure,
            "revisions",
            &number,
            "equivalences",
        ];
        self.get_with(&path, page).await
    }

    /// Signs for a revision of a procedure that a marking is a named thing.
    pub async fn sign_equivalence(
        &self,
        procedure: &str,
        revision: i64,
        new: &NewEquivalence,
    ) -> Result<Equivalence, Error> {
        let number = revision.to_string();
        let path = [
            "v1",
            "procedures",
            procedure,
            "revisions",
            &number,
            "equivalences",
        ];
        self.create(&path, new).await
    }

    /// Withdraws a signature.
    pub async fn withdraw_equivalence(
        &self,
        (procedure, revision): (&str, i64),
        equivalence: &str,
        new: &NewWithdrawal,
    ) -> Result<Equivalence, Error> {
        let number = revision.to_string();
        let path = [
            "v1",
            "procedures",
            procedure,
            "revisions",
            &number,
            "equivalences",
            equivalence,
            "withdrawal",
        ];
        self.create(&path, new).await
    }
}
