//! Kit counts: how many complete kits stock makes, of one kind or of several that share parts.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{Checker, Violation};

/// More kinds of kit are not asked of at once.
pub const KIT_KINDS_MAX: usize = 100;

/// Where to count one kind of kit.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetKitCount {
    /// The site whose stock counts; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
}

/// Pieces of a part.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitPieces {
    /// The code of the part.
    pub part: String,
    /// How many pieces.
    pub quantity: i64,
}

/// What one more piece of a part would give.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitGain {
    /// The code of the part.
    pub part: String,
    /// How many kits in all there would be then.
    pub count: i64,
}

/// How many kits of one kind stock makes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitCount {
    /// The kit.
    pub kit: String,
    /// The site whose stock counts.
    pub site: String,
    /// How many, if nothing else is made of the stock.
    pub count: i64,
    /// The parts that one more kit wants, and how many of each: the part that sets the number, or
    /// several that set it together.
    pub next_kit_wants: Vec<KitPieces>,
    /// The parts of which one more piece gives more kits.
    pub one_more: Vec<KitGain>,
    /// The answer in sentences.
    pub says: Vec<String>,
    /// What the answer takes for granted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub assumes: Vec<String>,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
}

/// A kind of kit, and how many are wanted.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WantedKits {
    /// The code of the kit.
    #[schema(example = "K-24L")]
    pub kit: String,
    /// How many are wanted; as many as possible unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 1, maximum = 100_000, example = 6)]
    pub wanted: Option<i64>,
}

/// Which kinds of kit to count together.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewKitCounts {
    /// The kinds, the most wanted first.
    pub kits: Vec<WantedKits>,
    /// The site whose stock counts; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Say also what one more piece of which part would give. It counts anew for every part, which may
    /// take some seconds for many kinds.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub one_more: bool,
}

/// One kind among several that share the stock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitKindCount {
    /// The kit.
    pub kit: String,
    /// How many are wanted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wanted: Option<i64>,
    /// How many stock makes, if nothing else is made of it.
    pub alone: i64,
    /// How many of the greatest number of kits in all are of this kind; how that number is shared out
    /// is not unique.
    pub together: i64,
    /// How many there are if the kinds are filled in the order given.
    pub in_order: i64,
}

/// How many kits of several kinds stock makes, no piece used twice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitCounts {
    /// The site whose stock counts.
    pub site: String,
    /// The kinds, in the order given.
    pub kits: Vec<KitKindCount>,
    /// The greatest number of kits in all, of each kind at most as many as are wanted.
    pub total: i64,
    /// Whether it is proven that no more can be made; otherwise the search was stopped.
    pub is_proven: bool,
    /// The fewest pieces that would have to be added to make all that are wanted; which parts they are
    /// is not unique where a slot has alternatives.
    pub wanted_lacks: Vec<KitPieces>,
    /// The parts of which one more piece gives more kits in all; only if it was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub one_more: Option<Vec<KitGain>>,
    /// The answer in sentences.
    pub says: Vec<String>,
    /// What the answer takes for granted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub assumes: Vec<String>,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
}

impl NewKitCounts {
    /// Checks that kinds are named, each once.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        if self.kits.is_empty() {
            checker.note("kits", "is empty; name at least one kit");
        }
        if self.kits.len() > KIT_KINDS_MAX {
            let count = self.kits.len();
            checker.note(
                "kits",
                format!("{count} kinds; give at most {KIT_KINDS_MAX}"),
            );
        }
        for (index, kind) in self.kits.iter().enumerate() {
            if let Some(wanted) = kind.wanted {
                checker.range(&format!("kits/{index}/wanted"), wanted, 1, 100_000);
            }
            let before = &self.kits[..index];
            if before
                .iter()
                .any(|other| other.kit.eq_ignore_ascii_case(&kind.kit))
            {
                let why = format!("\"{}\" is listed twice; give it once", kind.kit);
                checker.note(&format!("kits/{index}/kit"), why);
            }
        }
        checker.finish()
    }
}
