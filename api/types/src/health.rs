//! Liveness and readiness.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Whether the service works.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Health {
    /// `ok`.
    pub status: String,
    /// The version of the service.
    pub version: String,
}
