//! Operations on mail addresses.

use types::{MailAddress, MailAddressPage, NewMailAddress, Page};
use uuid::Uuid;

use crate::{Client, Error};

impl Client {
    /// A page of mail addresses.
    pub async fn list_mail_addresses(&self, page: &Page) -> Result<MailAddressPage, Error> {
        self.get_with(&["v1", "mail-addresses"], page).await
    }

    /// Adds a mail address.
    pub async fn create_mail_address(&self, new: &NewMailAddress) -> Result<MailAddress, Error> {
        self.create(&["v1", "mail-addresses"], new).await
    }

    /// One mail address.
    pub async fn get_mail_address(&self, mail_address: Uuid) -> Result<MailAddress, Error> {
        self.get(&["v1", "mail-addresses", &mail_address.to_string()])
            .await
    }

    /// Replaces the mail address that had this version.
    pub async fn replace_mail_address(
        &self,
        mail_address: Uuid,
        new: &NewMailAddress,
        version: i64,
    ) -> Result<MailAddress, Error> {
        let segments = ["v1", "mail-addresses", &mail_address.to_string()];
        self.replace(&segments, new, version).await
    }

    /// Deletes the mail address that had this version.
    pub async fn delete_mail_address(&self, mail_address: Uuid, version: i64) -> Result<(), Error> {
        self.delete(
            &["v1", "mail-addresses", &mail_address.to_string()],
            version,
        )
        .await
    }
}
