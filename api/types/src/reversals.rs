//! Reversals: taking an entry back. The entry stays on record; a new one undoes its effect.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{Checker, Violation};

/// For how many minutes a person may take back what they logged; the role `keep` has no limit.
pub const UNDO_MINUTES: i64 = 10;

/// An entry to be taken back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewReversal {
    /// The entry, as named in the answer to it.
    pub entry: Uuid,
    /// Why, if there is more to say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

impl NewReversal {
    /// Checks the text.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.text("why", self.why.as_deref(), 400);
        checker.finish()
    }
}
