//! Kit checks: whether what is available at a torch's site makes a kit for it, and what is missing.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{FitCandidate, FitFault};

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
    /// How many there are that may be used in this slot; under a short back cap, stubs that fit.
    pub available: i64,
    /// How many more one kit wants.
    pub missing: i64,
    /// How many of what is available are stubs from the jar; absent where stubs are not asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stubs: Option<i64>,
    /// Other parts of the slot that go together with the rest.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub or: Vec<FitCandidate>,
    /// Idle torches of the site in which one is fitted, if it is missing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub borrow_from: Vec<String>,
    /// The purchase that comes first, if it is missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<KitPurchase>,
    /// Why what is there is held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held_because: Option<String>,
}

/// Packs that would come first of what is missing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitPurchase {
    /// The supplier.
    pub supplier: String,
    /// How many packs.
    pub packs: i64,
    /// How many pieces a pack holds.
    pub pack_size: i64,
    /// Goods and freight, in minor units of the currency.
    pub cost_minor: i64,
    /// The currency, ISO 4217.
    #[schema(example = "CAD")]
    pub currency: String,
    /// The day it arrives if it is ordered now.
    pub arrives: NaiveDate,
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
    /// `complete`, `incomplete`, `does not fit`, `not permitted` or `cannot tell`.
    #[schema(example = "incomplete")]
    pub state: String,
    /// How many kits the stock makes, no piece used twice.
    pub count: i64,
    /// The part of which the next kit wants the most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limited_by: Option<String>,
    /// Every slot of the kit, by its first choice.
    pub lines: Vec<KitCheckLine>,
    /// What keeps the parts of the kit from going together.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<FitFault>,
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
