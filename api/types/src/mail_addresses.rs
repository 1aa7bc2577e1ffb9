//! Mail addresses: who gets mail, and about what.

use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::shape::resource;
use crate::{Checker, EventKind, Sending, Violation};

/// The longest address, in characters (RFC 5321 4.5.3.1.3, less the brackets).
const ADDRESS_MAX: usize = 254;
/// The longest note, in characters.
const NOTE_MAX: usize = 200;

resource! {
    /// Who is to get mail.
    #[derive(Default)]
    new NewMailAddress
    /// Who gets mail.
    view MailAddress
    given {
        /// The address alone, without a name.
        #[schema(example = "owner@shop.example")]
        address: String,
        /// Whose it is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
        /// The kinds of event that are sent; what is worth a message, and the weekly digest, unless told.
        /// `["digest.ready"]` sends the digest alone.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        kinds: Vec<EventKind>,
        /// The one site whose events are sent; all unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
    }
    added {
        /// Names the address in paths.
        id: Uuid,
        /// What has come of sending to it.
        sending: Sending,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of mail addresses.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct MailAddressPage {
    /// The addresses, oldest first.
    pub mail_addresses: Vec<MailAddress>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
    /// What stands in the way of mail: absent when a mail server is set up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
}

/// Names a mail address.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct MailAddressPath {
    /// The id of the mail address.
    pub mail_address: String,
}

impl NewMailAddress {
    /// Checks the note and the length; the form of the address is judged by what sends the mail.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.text("address", Some(&self.address), ADDRESS_MAX);
        checker.text("note", self.note.as_deref(), NOTE_MAX);
        checker.finish()
    }
}
