//! Sites: shop, school, truck. Each has its time zone, in which days and weeks are counted, and its
//! rule: which electrode classes are barred there.

use domain::code::Code;
use domain::site_rule::{Barred, SiteRule};
use domain::size::RodLength;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation};

/// How much a site can bar: every class, and the word for all thoriated ones.
const BARRED_MAX: usize = 13;

/// The code of the site that is there from the start.
pub const DEFAULT_SITE: &str = "shop";

resource! {
    /// A site as it should be.
    #[derive(Default)]
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
        /// The electrode classes that are barred here: `thoriated` for all of them with thoria, or
        /// classes such as `WTh20`. An electrode whose class is not known is barred wherever any
        /// class is that it might be. What is barred is held, and cannot be planned, ordered,
        /// issued or moved in.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[schema(example = json!(["thoriated"]), max_items = 13)]
        barred: Vec<String>,
        /// Who is told when something barred is used, as the shop calls them.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "instructor")]
        responsible: Option<String>,
        /// The shortest rod that a collet still grips here; unless told, a starting assumption by the
        /// body family of the torch.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "35 mm")]
        discard_length: Option<String>,
    }
    added {
        /// The cautions that go with a rule that was just set.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        cautions: Vec<String>,
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
    /// Checks all but the zone, which is looked up by the service; the rule and the discard length.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(SiteRule, Option<RodLength>), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("site", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        checker.text("responsible", self.responsible.as_deref(), 80);
        if self.barred.len() > BARRED_MAX {
            let given = self.barred.len();
            checker.note("barred", format!("{given} words; give each class once"));
        }
        let mut barred = Vec::new();
        for (index, word) in self.barred.iter().enumerate() {
            barred.extend(checker.take(&format!("barred/{index}"), Barred::parse(word)));
        }
        let discard = checker.take_opt(
            "discard_length",
            self.discard_length.as_deref(),
            RodLength::parse,
        );
        checker.finish()?;
        Ok((SiteRule::new(barred), discard))
    }
}
