//! Operations on fits.

use types::{BorrowingPage, FitCheck, FitQuery, ListBorrowings, NewFit};

use crate::{Client, Error};

impl Client {
    /// Fits parts on a torch, or tries whether they fit.
    pub async fn create_fit(
        &self,
        torch: &str,
        new: &NewFit,
        query: &FitQuery,
    ) -> Result<FitCheck, Error> {
        self.create_with(&["v1", "torches", torch, "fit"], query, new)
            .await
    }

    /// A page of what torches lent to each other.
    pub async fn list_borrowings(&self, query: &ListBorrowings) -> Result<BorrowingPage, Error> {
        self.get_with(&["v1", "borrowings"], query).await
    }
}
