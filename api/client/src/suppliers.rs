//! Operations on suppliers.

use types::page::Page;
use types::{NewSupplier, Supplier, SupplierPage};

use crate::{Client, Error};

impl Client {
    /// A page of the suppliers.
    pub async fn list_suppliers(&self, page: &Page) -> Result<SupplierPage, Error> {
        self.get_with(&["v1", "suppliers"], page).await
    }

    /// Sets up a supplier.
    pub async fn create_supplier(&self, supplier: &NewSupplier) -> Result<Supplier, Error> {
        self.create(&["v1", "suppliers"], supplier).await
    }

    /// One supplier.
    pub async fn get_supplier(&self, supplier: &str) -> Result<Supplier, Error> {
        self.get(&["v1", "suppliers", supplier]).await
    }

    /// Replaces the supplier that had this version.
    pub async fn replace_supplier(
        &self,
        supplier: &str,
        new: &NewSupplier,
        version: i64,
    ) -> Result<Supplier, Error> {
        self.replace(&["v1", "suppliers", supplier], new, version)
            .await
    }
}
