//! Stock: how many there are of a part at a site, and how that figure came about.

use chrono::{DateTime, FixedOffset, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// How many there are of a part.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Stock {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// The site.
    pub site: String,
    /// The drawers of the site in which it lies, as people number them.
    #[serde(default)]
    pub drawers: Vec<String>,
    /// `piece`, `ml` or `g`.
    pub unit: String,
    /// In the drawers: the newest count and what moved after it.
    pub on_hand: i64,
    /// Of those, not to be used: set aside, or all of them where the site does not permit the part.
    pub on_hold: i64,
    /// `held` or `not permitted here`, where none of what is on hand may be used; absent otherwise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    /// Why something is on hold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "not permitted at Tarnbridge")]
    pub held_because: Option<String>,
    /// Of those, promised to jobs.
    pub allocated: i64,
    /// On hand less what is on hold and what is allocated; not below nothing.
    pub available: i64,
    /// Ordered and not here yet.
    pub on_order: i64,
    /// Inventory position: available and on order together.
    pub position: i64,
    /// What would be on hand if the entries that may be double are: absent where none is in doubt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub if_double: Option<i64>,
    /// When it was last counted; absent if never.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counted_at: Option<DateTime<Utc>>,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
    /// What they stand for, in words; absent for the present, and on a line of a page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands_for: Option<String>,
}

/// A page of stock.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct StockPage {
    /// One line a part, by code.
    pub stock: Vec<Stock>,
    /// What the figures stand for, in words; absent for the present.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands_for: Option<String>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Which stock is asked for.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetStock {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// The instant that the figures are to stand for, not later than now; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub as_of: Option<String>,
    /// With `as_of`: `then` for what had been received by that instant, `now` for all that is known
    /// today of what happened by it; `now` unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "then")]
    pub known: Option<String>,
}

/// Which page of the stock of a site.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListStock {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// The instant that the figures are to stand for, not later than now; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub as_of: Option<String>,
    /// With `as_of`: `then` for what had been received by that instant, `now` for all that is known
    /// today of what happened by it; `now` unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "then")]
    pub known: Option<String>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// How a stock figure came about: the newest count, and the sums of what moved after it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StockExplanation {
    /// The figures.
    pub stock: Stock,
    /// What was counted; absent if never.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counted: Option<i64>,
    /// What moved since, by kind.
    pub moved: Vec<MovedSince>,
    /// The entries behind it, newest first, up to 50: what moved since the newest count, with what
    /// was taken back and by which entry.
    pub entries: Vec<ExplainedEntry>,
    /// What the figures stand for, in words; absent for the present.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands_for: Option<String>,
    /// The same in one sentence that can be redone on paper.
    pub says: String,
}

/// An entry behind a stock figure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ExplainedEntry {
    /// Names the entry.
    pub entry: Uuid,
    /// The kind of movement.
    pub kind: String,
    /// By how much it changed what is on hand.
    pub change: i64,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// Who did it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// When it happened, with the offset it was made with.
    pub at: DateTime<FixedOffset>,
    /// The entry that it takes back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reverses: Option<Uuid>,
    /// The entry that takes it back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reversed_by: Option<Uuid>,
}

/// What moved since the newest count, of one kind.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MovedSince {
    /// The kind of movement.
    pub kind: String,
    /// The sum of its changes to the stock on hand.
    pub quantity: i64,
    /// How many entries.
    pub entries: i64,
}
