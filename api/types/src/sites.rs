//! Sites: shop, school, truck. Each has its time zone, in which days and weeks are counted.

use domain::code::Code;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation};

/// The code of the site that is there from the start.
pub const DEFAULT_SITE: &str = "shop";

resource! {
    /// A site as it should be.
    new NewSite
    /// A site.
    view Site
    given {
        /// The short name used everywhere.
        #[schema(example = "shop")]
        code: String,
        /// What people call it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        /// IANA time zone.
        #[schema(example = "America/Halifax")]
        zone: String,
    }
    added {
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of sites.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct SitePage {
    /// The sites by code.
    pub sites: Vec<Site>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a site.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct SitePath {
    /// The code of the site.
    pub site: String,
}

impl NewSite {
    /// Checks the code and the name; the zone is looked up by the service.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("site", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        checker.finish()
    }
}
