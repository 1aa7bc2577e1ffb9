//! Torches, and what is fitted in each of them now.

use chrono::{DateTime, Utc};
use domain::code::Code;
use domain::part::BodyFamily;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation};

resource! {
    /// A torch as it should be.
    new NewTorch
    /// A torch.
    view Torch
    given {
        /// The short name on the torch.
        #[schema(example = "T1")]
        code: String,
        /// What people call it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        /// The body family: `small` or `large`.
        #[schema(example = "large")]
        family: String,
        /// The site it is used at; the first site unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
        /// A note of the shop.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    }
    added {
        /// The codes of the parts fitted now, rear to tip.
        fitted: Vec<String>,
        /// The codes of the parts that it lent to other torches; it is incomplete until they are put
        /// back or replaced.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        lent: Vec<String>,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of torches.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct TorchPage {
    /// The torches by code.
    pub torches: Vec<Torch>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a torch.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct TorchPath {
    /// The code of the torch.
    pub torch: String,
}

/// What should be fitted from now on: use logged on the torch wears these parts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewSetUp {
    /// The codes of the parts: at most one of each kind, and a collet body or a gas lens, not both.
    pub parts: Vec<String>,
}

/// What is fitted in a torch.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SetUp {
    /// The torch.
    pub torch: String,
    /// The codes of the parts, rear to tip.
    pub parts: Vec<String>,
    /// Since when; absent if nothing was ever fitted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fitted_at: Option<DateTime<Utc>>,
    /// The caution that goes with changing parts.
    pub cautions: Vec<String>,
    /// The version of the torch; also the `ETag`.
    pub version: i64,
}

impl NewTorch {
    /// The body family, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<BodyFamily, Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("torch", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        checker.text("note", self.note.as_deref(), 400);
        let family = checker.take("family", BodyFamily::parse(&self.family));
        checker.finish()?;
        family.ok_or_else(Vec::new)
    }
}
