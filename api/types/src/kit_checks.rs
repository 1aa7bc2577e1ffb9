//! Kit checks: whether what is available at a torch's site makes a kit for it, and what is missing.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// Names a torch and a kit.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct KitCheckPath {
    /// The code of the torch.
    pub torch: String,
    /// The code of the kit.
    pub kit: String,
}

/// One part of a kit, checked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitCheckLine {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// How many one kit holds.
    pub quantity: i64,
    /// How many there are that may be used in this kit; under a short back cap, stubs that fit.
    pub available: i64,
    /// How many more one kit wants.
    pub missing: i64,
    /// How many of what is available are stubs from the jar; absent where stubs are not asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stubs: Option<i64>,
    /// Why what is there is held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held_because: Option<String>,
}

/// Whether a kit is complete.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitCheck {
    /// The torch.
    pub torch: String,
    /// The kit.
    pub kit: String,
    /// The site of the torch, whose stock counts.
    pub site: String,
    /// `complete`, `incomplete` or `not permitted`.
    #[schema(example = "incomplete")]
    pub state: String,
    /// How many kits the stock makes: as many as the scarcest part allows.
    pub count: i64,
    /// The part that sets this number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limited_by: Option<String>,
    /// Every part of the kit.
    pub lines: Vec<KitCheckLine>,
    /// The answer in sentences.
    pub says: Vec<String>,
    /// What the answer takes for granted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub assumes: Vec<String>,
    /// The cautions that go with changing parts.
    pub cautions: Vec<String>,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
}
