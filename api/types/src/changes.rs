//! What changed since somebody last looked, and what is to be done next.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// Since when to tell what changed.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetChanges {
    /// Since when: days (`10d`) or weeks (`2w`) back, a day (from its beginning at the site), or an instant;
    /// `2w` unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2w")]
    pub since: Option<String>,
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// The instant up to which to look; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub now: Option<String>,
}

/// What changed at a site between two instants, and what is to be done next.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Changes {
    /// The site.
    pub site: String,
    /// The earlier instant.
    pub from: DateTime<Utc>,
    /// The later instant, for which what is to be done stands.
    pub to: DateTime<Utc>,
    /// What is to be done, in the order of time: at most seven lines.
    pub next: Vec<NextStep>,
    /// How many lines more there would be.
    pub more: i64,
    /// What changed, group by group; a group without a line is left out.
    pub groups: Vec<ChangeGroup>,
    /// All of it in one sentence.
    pub says: String,
}

/// Something that is to be done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NextStep {
    /// `late` (an order is overdue), `none-left`, `question`, `order-by` or `blocked` (work that cannot run
    /// and no order mends).
    #[schema(example = "order-by")]
    pub kind: String,
    /// By when.
    pub at: DateTime<Utc>,
    /// What it is about: the code of a part, a job or a course, or the number of an order.
    #[schema(example = "R-118")]
    pub subject: String,
    /// It in plain words.
    pub says: String,
}

/// What changed of one sort.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ChangeGroup {
    /// `arrived`, `used`, `ran-low`, `orders`, `terms` (prices and lead times), `questions`, `counts` or
    /// `told-late` (what was recorded now and happened before).
    #[schema(example = "arrived")]
    pub kind: String,
    /// The sort in words.
    #[schema(example = "Arrived")]
    pub title: String,
    /// The lines, at most 12.
    pub lines: Vec<ChangeLine>,
    /// How many lines more there would be.
    pub more: i64,
}

/// One thing that changed.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ChangeLine {
    /// The code of the part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The number of the order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<i64>,
    /// The number of the question.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub question: Option<i64>,
    /// How many, in the unit of the part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quantity: Option<i64>,
    /// How many there were before: available at the earlier instant, or the book before a count.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<i64>,
    /// How many there are after: available at the later instant, or what was counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<i64>,
    /// When it happened, the last of it if it is a sum.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<DateTime<Utc>>,
    /// It in plain words.
    pub says: String,
}
