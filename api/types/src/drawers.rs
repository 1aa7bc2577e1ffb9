//! Drawers: numbered places of a site with the parts that lie in them. The kit of a school's
//! station is one too. What is in a drawer is said in pieces by counts, not here.

use domain::code::Code;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation};

/// More kinds of part do not lie in one drawer; a station kit has about ten.
pub const DRAWER_PARTS_MAX: usize = 100;

resource! {
    /// A drawer as it should be.
    new NewDrawer
    /// A drawer.
    view Drawer
    given {
        /// The number or short name on the drawer; unique at its site.
        #[schema(example = "14")]
        code: String,
        /// What people call it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "O-rings and back caps")]
        name: Option<String>,
        /// The site it stands at; the first site unless told. A drawer stays at its site.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
        /// The codes of the parts that lie in it, in the order in which they lie; each once.
        parts: Vec<String>,
    }
    added {
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of drawers.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct DrawerPage {
    /// The drawers as people number them: 2 before 10.
    pub drawers: Vec<Drawer>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a drawer of a site.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct DrawerPath {
    /// The code of the drawer.
    pub drawer: String,
}

/// At which site a drawer stands.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct AtSite {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
}

/// Which drawers.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListDrawers {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

impl NewDrawer {
    /// The code, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<Code, Vec<Violation>> {
        let mut checker = Checker::default();
        let code = checker.take("code", Code::parse("drawer", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        if self.parts.len() > DRAWER_PARTS_MAX {
            let why = format!(
                "{} parts; give at most {DRAWER_PARTS_MAX}",
                self.parts.len()
            );
            checker.note("parts", why);
        }
        for (index, part) in self.parts.iter().enumerate() {
            let same = |other: &String| other.trim().eq_ignore_ascii_case(part.trim());
            if self.parts[..index].iter().any(same) {
                let why = format!("\"{part}\" is listed twice; give it once");
                checker.note(&format!("parts/{index}"), why);
            }
        }
        checker.finish()?;
        code.ok_or_else(Vec::new)
    }
}
