//! Looks: all that is watched is looked at, and what there is to say is told.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::Warning;

/// Asks for a look at once.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewLook {
    /// The site; all of them unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "shop")]
    pub site: Option<String>,
}

/// What a look found.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Look {
    /// The instant.
    pub as_of: DateTime<Utc>,
    /// Warnings that opened.
    pub opened: Vec<Warning>,
    /// Warnings that were told.
    pub told: Vec<Warning>,
    /// Warnings that were told again, since a stop had become much likelier.
    pub escalated: Vec<Warning>,
    /// Warnings that closed.
    pub closed: Vec<Warning>,
    /// What cannot be told of, and what to do about it.
    pub cannot_tell: Vec<String>,
}
