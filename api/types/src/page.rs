//! How lists are cut into pages: an opaque cursor and a limit, the same for every list.

use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// The default and the greatest number of rows on a page.
pub const PAGE_DEFAULT: u64 = 100;
/// A page of this size is still small enough for a phone on a slow line.
pub const PAGE_MAX: u64 = 500;

/// Which page of a list.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct Page {
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

impl Page {
    /// The number of rows to give, within the bounds.
    pub fn limit(&self) -> u64 {
        self.limit.unwrap_or(PAGE_DEFAULT).clamp(1, PAGE_MAX)
    }
}
