//! Entries: everything on record of one thing that somebody told, and what became of it since.

use chrono::{DateTime, FixedOffset, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// An entry of the ledger. It is never changed: a correction is another entry, which names this one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Entry {
    /// Names the entry.
    pub entry: Uuid,
    /// `usage`, `movement`, `receipt`, `count`, `transfer`, `allocation`, `stubs` or `reversal`.
    #[schema(example = "usage")]
    pub kind: String,
    /// The entry in a few words.
    #[schema(example = "took, 75 min, 3 grinds")]
    pub says: String,
    /// The site.
    pub site: String,
    /// Operator group.
    pub group: String,
    /// The torch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub torch: Option<String>,
    /// The job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// The lot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// Who did it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// A note.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// What it moved.
    pub moved: Vec<MovedPart>,
    /// What it put into the stub jar of its site, or took out of it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stubs: Vec<MovedStubs>,
    /// The code of the electrode that was ground, where it is not one that the torch had fitted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ground: Option<String>,
    /// What it counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counted: Option<CountedPart>,
    /// The entry that this one takes back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reverses: Option<Uuid>,
    /// The entry that takes this one back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reversed_by: Option<Uuid>,
    /// The numbers of the questions about it, open or not.
    pub questions: Vec<i64>,
    /// When it happened, by true time, with the offset it was made with.
    pub at: DateTime<FixedOffset>,
    /// What the clock of the device said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub device_at: Option<DateTime<Utc>>,
    /// By how many seconds that clock was found to be ahead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock_ahead_seconds: Option<i64>,
    /// When the service heard of it.
    pub received_at: DateTime<Utc>,
}

/// How an entry moved a part.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MovedPart {
    /// The code of the part.
    pub part: String,
    /// The site.
    pub site: String,
    /// The kind of movement.
    pub kind: String,
    /// How many; for a correction below zero.
    pub quantity: i64,
}

/// Stubs that an entry put into the jar or took out of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MovedStubs {
    /// The electrode class by its ISO 6848 symbol, or `unidentified`.
    #[schema(example = "WLa20")]
    pub class: String,
    /// The diameter.
    #[schema(example = "2.4 mm")]
    pub diameter: String,
    /// The length, if somebody measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "48 mm")]
    pub length: Option<String>,
    /// The lot, if it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// How many went in; below zero for what came out.
    pub quantity: i64,
}

/// What an entry counted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CountedPart {
    /// The code of the part.
    pub part: String,
    /// How many there were.
    pub counted: i64,
    /// What the book said when the count came in.
    pub book: i64,
    /// Counted less the book of that instant, by what is known now.
    pub variance: i64,
}

/// Names an entry.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct EntryPath {
    /// The id of the entry, as the answer to it named it.
    pub entry: Uuid,
}
