//! The count list: which drawers to count now, because a count there is most likely to change what is
//! ordered. It is blind: what the book says of a drawer is not in it.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// How many drawers are asked for unless told.
pub const COUNT_DRAWERS_DEFAULT: i64 = 3;
/// How many can be asked for; for more, ask for all.
pub const COUNT_DRAWERS_MAX: i64 = 100;
/// The days over which stock must last unless told: a week of delivery and a week between reviews.
pub const COVER_DAYS_DEFAULT: i64 = 14;

/// Which count list.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetCountList {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// How many drawers to count, 1 to 100; 3 unless told. A part that lies in no drawer counts as one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 100)]
    pub drawers: Option<i64>,
    /// 1 for the whole sheet, every drawer of the site.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub all: Option<String>,
    /// The days over which stock must last, lead time and review interval together: the order point is
    /// the need over them. 14 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 3650)]
    pub cover_days: Option<i64>,
    /// The instant to decide at, RFC 3339; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub now: Option<String>,
}

/// What to count.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CountList {
    /// The instant it was decided at.
    pub as_of: DateTime<Utc>,
    /// The site.
    pub site: String,
    /// What to count, drawer by drawer as people number them; parts that lie in none come last.
    pub lines: Vec<CountLine>,
    /// How often pieces go missing from a drawer.
    pub losses: ErrorRate,
    /// How often pieces turn up that the book does not know of.
    pub gains: ErrorRate,
    /// The list in one sentence.
    pub says: String,
}

/// A part to be counted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CountLine {
    /// The drawer; absent for a part that lies in none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "14")]
    pub drawer: Option<String>,
    /// The code of the part.
    #[schema(example = "collet-2.4")]
    pub part: String,
    /// The part in words.
    pub name: String,
    /// `piece`, `ml` or `g`.
    pub unit: String,
    /// Why it is worth counting.
    pub why: String,
    /// The chance that a count changes whether it is ordered; absent if it cannot be told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance: Option<f64>,
    /// When it was last counted; absent if never.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counted_at: Option<DateTime<Utc>>,
}

/// How often a book goes wrong, in pieces for each recorded movement and each week: Gamma(shape, rate).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ErrorRate {
    /// Pieces that the shop's counts found to be wrong in this direction.
    pub pieces: i64,
    /// Over so many movements and weeks between counts.
    pub occasions: f64,
    /// Shape of the starting assumption; invented.
    pub assumed_shape: f64,
    /// Rate of the starting assumption; invented.
    pub assumed_rate: f64,
    /// Shape: that of the assumption and the pieces.
    pub shape: f64,
    /// Rate: that of the assumption and the occasions.
    pub rate: f64,
}
