//! Cautions as data: every hazard with its text, and where it is told of.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Every caution there is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CautionList {
    /// The cautions, in the order in which answers tell them.
    pub cautions: Vec<Caution>,
    /// The sentence that closes the cautions of every answer.
    pub closing: String,
}

/// A hazard, its text, and where it is told of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Caution {
    /// The name of the hazard.
    #[schema(example = "grinding")]
    pub hazard: String,
    /// The caution in its short form.
    pub text: String,
    /// When it is shown.
    pub shown: Vec<CautionContext>,
}

/// A place where a caution is shown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CautionContext {
    /// At any of these moments of the work.
    #[schema(example = json!(["receiving", "taking"]))]
    pub moments: Vec<String>,
    /// If the moment is about this; absent for always.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "an electrode of a thoriated class")]
    pub about: Option<String>,
}
