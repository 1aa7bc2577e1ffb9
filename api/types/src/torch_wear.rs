//! The wear of one torch against the others: how much faster it uses a part, what changed when it began,
//! what to check, and the age of its O-ring.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::CannotTell;

/// What is asked of a torch.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetTorchWear {
    /// Only this part: its code, or its kind (`electrode`); all that is fitted unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "electrode")]
    pub part: Option<String>,
    /// The first day to look at, in the site's zone: a window fixed beforehand. Unless told, every start
    /// day of the last 26 weeks is looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-03")]
    pub since: Option<NaiveDate>,
    /// `grey-tip`: the electrode was seen to be grey or blue, which orders the checks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "grey-tip")]
    pub seen: Option<String>,
    /// The instant to look from; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-22T08:00:00-03:00")]
    pub now: Option<String>,
    /// `1` adds the figures from which the rest can be redone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explain: Option<String>,
}

/// How a torch wears its parts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorchWear {
    /// The code of the torch.
    pub torch: String,
    /// The site.
    pub site: String,
    /// The instant that it stands for.
    pub as_of: DateTime<Utc>,
    /// One a part.
    pub parts: Vec<TorchPartWear>,
    /// Parts of which nothing can be said, and what to do about it.
    pub cannot_tell: Vec<CannotTell>,
    /// The age of the O-ring; absent if none is fitted on record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub o_ring: Option<ORingAge>,
    /// Cautions, where parts are to be looked at.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
}

/// How a torch wears one part, against the other torches of its site.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorchPartWear {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// `normal`, `high` (one reading over the limit; the next weekly check decides), `alarm`, `explained`
    /// (by who worked), `untold` (by a group whose pace is not known) or `repaired` (too early to tell).
    #[schema(example = "alarm")]
    pub state: String,
    /// In plain words.
    pub says: Vec<String>,
    /// The first day of the window.
    pub since: NaiveDate,
    /// Pieces used in it.
    pub used: i64,
    /// Exposure in it, in units of `per`.
    pub over: f64,
    /// What wear is counted by: `arc-hour` or `grind`.
    pub per: String,
    /// Pieces that a torch like the others uses over the same work on average.
    pub expected: f64,
    /// The chance that a torch like the others uses so many or more, for a window fixed beforehand.
    pub tail: f64,
    /// The smallest tail over all start days is held to this limit, which allows for their number.
    pub limit: f64,
    /// How many start days were looked at.
    pub windows: i64,
    /// The day of the weekly check that raised the alarm, while it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raised_on: Option<NaiveDate>,
    /// How many times as fast as the others, by the raw figures; absent if they used none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub times: Option<f64>,
    /// How many times as fast as the others, allowing for what is not known of both.
    pub ratio: TorchRatio,
    /// Who worked with it in the window.
    pub groups: Vec<TorchGroup>,
    /// Grinds in an arc hour; absent unless both are logged on this torch and on others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grinds_per_hour: Option<TorchGrinds>,
    /// What was changed on the torch from three days before the window to its first day.
    pub changed: Vec<TorchChange>,
    /// What to check, in this order; empty unless something is to be checked.
    pub checks: Vec<TorchCheck>,
    /// What became of a repair.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub follow_up: Option<TorchFollowUp>,
    /// The figures behind it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explain: Option<TorchWearExplanation>,
}

/// How many times as fast as the other torches.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorchRatio {
    /// One time in twenty it is below this.
    pub low: f64,
    /// As likely below as above.
    pub median: f64,
    /// One time in twenty it is above this.
    pub high: f64,
}

/// What one operator group did with a torch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorchGroup {
    /// The operator group.
    pub group: String,
    /// Pieces used.
    pub used: i64,
    /// Exposure, in the unit of the part.
    pub over: f64,
    /// How many times as fast the group uses parts on the other torches as the group that uses most there;
    /// absent if it used fewer than five pieces there, and then its work is left out of what is compared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub factor: Option<f64>,
}

/// Grinds in an arc hour.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorchGrinds {
    /// Of this torch, in the window.
    pub torch: f64,
    /// Of the others.
    pub others: f64,
}

/// Parts that were changed on a torch.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TorchChange {
    /// When.
    pub at: DateTime<Utc>,
    /// The codes of the new parts.
    pub parts: Vec<String>,
}

/// One thing to check.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TorchCheck {
    /// Its place, from 1.
    pub number: i64,
    /// `record`, `o-ring`, `gas`, `polarity`, `current`, `balance`, `collet` or `class`.
    #[schema(example = "o-ring")]
    pub check: String,
    /// What to look at.
    pub says: String,
    /// Why it stands higher than usual.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<String>,
}

/// What became of a repair.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorchFollowUp {
    /// When parts were changed after the torch had become fast.
    pub at: DateTime<Utc>,
    /// The codes of the new parts.
    pub parts: Vec<String>,
    /// `looks normal`, `still fast` or `too early`.
    #[schema(example = "looks normal")]
    pub outcome: String,
    /// Pieces used in the window before it.
    pub before_used: i64,
    /// Exposure in that window, in terms of the group that uses most.
    pub before_over: f64,
    /// Pieces used since.
    pub used: i64,
    /// Exposure since, likewise.
    pub over: f64,
    /// Pieces that a torch like the others uses over it on average.
    pub expected: f64,
    /// The chance of so few with a torch like the others.
    pub as_few_if_normal: f64,
    /// The chance of so few at the rate before.
    pub as_few_if_unchanged: f64,
    /// In plain words.
    pub says: String,
}

/// The figures behind the wear of a torch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorchWearExplanation {
    /// Shape of the starting assumption.
    pub assumed_shape: f64,
    /// Rate of the starting assumption.
    pub assumed_rate: f64,
    /// Pieces used on the other torches in the last 52 weeks, by groups that are compared.
    pub others_used: i64,
    /// Over so much exposure, in terms of the group that uses most.
    pub others_over: f64,
    /// Shape of the others' rate.
    pub shape: f64,
    /// Rate of the others' rate.
    pub rate: f64,
    /// How to redo it.
    pub how: String,
}

/// The age of the O-ring in a torch.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ORingAge {
    /// The code of the part.
    pub part: String,
    /// When it was fitted.
    pub fitted_at: DateTime<Utc>,
    /// Whole months since.
    pub months: i64,
    /// Removals of the back cap since that are known: grinds, electrodes changed, and refits. What was
    /// only looked at is not known.
    pub removals: i64,
    /// Months after which it is worth a look.
    pub limit_months: i64,
    /// Removals after which it is worth a look.
    pub limit_removals: i64,
    /// Whether the limits are starting assumptions, not the shop's own.
    pub assumed: bool,
    /// Whether it is worth a look.
    pub due: bool,
    /// In plain words.
    pub says: String,
}
