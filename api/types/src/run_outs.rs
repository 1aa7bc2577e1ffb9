//! When a part ran out, and why.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// Which run-outs to tell.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetRunOuts {
    /// Since when: days (`10d`) or weeks (`26w`) back, a day (from its beginning at the site), or an instant;
    /// `26w` unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "26w")]
    pub since: Option<String>,
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// The instant up to which to look; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub now: Option<String>,
}

/// When a part ran out at a site, and why.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct RunOuts {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// The site.
    pub site: String,
    /// The earlier instant.
    pub from: DateTime<Utc>,
    /// The later instant, for which the figures stand.
    pub as_of: DateTime<Utc>,
    /// The run-outs, the newest first, at most 20.
    pub run_outs: Vec<PastRunOut>,
    /// How many there were before those.
    pub more: i64,
    /// All of it in one sentence.
    pub says: String,
    /// What the figures assume.
    pub assumes: Vec<String>,
}

/// One time in which there was none left, and why.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PastRunOut {
    /// When it began: at the use or the count that found none left.
    pub from: DateTime<Utc>,
    /// When there was some again; absent while there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<DateTime<Utc>>,
    /// How it was found: by a `use` that left none, or by a `count` of none where the book had some.
    #[schema(example = "use")]
    pub found: String,
    /// The book just before.
    pub book: i64,
    /// The order point as it was when stock last rose before, or, where that cannot be told, just before the
    /// run-out; absent where neither can.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order_point: Option<i64>,
    /// Since when stock was at or below its order point; where that cannot be told, when it last rose.
    pub low_since: DateTime<Utc>,
    /// Days from then to the run-out, both included.
    pub days: i64,
    /// Used and logged on those days.
    pub logged: i64,
    /// Expected on those days, when they began; absent where nothing was on record to expect it from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected: Option<f64>,
    /// Found missing by counts on those days, and booked as used.
    pub unlogged: i64,
    /// Orders that were due before and had not come.
    pub late: Vec<LateOrder>,
    /// What an order would have brought that was not placed in time.
    pub not_ordered: i64,
    /// Found missing by the count that found none, and not booked as used.
    pub unexplained: i64,
    /// The causes, the largest first; their shares add up to 1.
    pub causes: Vec<RunOutCause>,
    /// Why, in plain words, and what to do.
    pub says: String,
}

/// An order that was due before a part ran out and had not come.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LateOrder {
    /// Its number.
    pub order: i64,
    /// The supplier.
    pub supplier: String,
    /// How many of the part were to come.
    pub pieces: i64,
    /// The day on which it was due.
    pub due: NaiveDate,
    /// The day on which the first of them came; absent if none has.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub came: Option<NaiveDate>,
}

/// A cause of a run-out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct RunOutCause {
    /// `unlogged-use`, `late-delivery`, `forecast` (more was used than expected), `not-ordered` or `rest`
    /// (none of these).
    #[schema(example = "late-delivery")]
    pub cause: String,
    /// Pieces that would have been there without it.
    pub pieces: f64,
    /// Its share of all of them, 0 to 1.
    pub share: f64,
    /// It in plain words.
    pub says: String,
}
