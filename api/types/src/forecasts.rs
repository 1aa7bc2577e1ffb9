//! Forecasts: how many of a part will be used, and when it runs out, with every figure they stand
//! on.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{CannotTell, StartingAssumption};

/// What to forecast. Give the use to come as `arc`, `grinds` or `weeks`.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetForecasts {
    /// Codes of parts, with commas between them; all parts that are fitted in torches unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "gas-lens-A,gas-lens-B")]
    pub part: Option<String>,
    /// Arc time to come, with its unit: `34h`, `75m`, `1h20`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "34h")]
    pub arc: Option<String>,
    /// Grinds to come.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grinds: Option<i64>,
    /// Normal weeks of work to come.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weeks: Option<f64>,
    /// The chance of having enough that a need should give; 0.95 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<f64>,
    /// Arc time in a usual week, for run-out dates and order points, with its unit; that of the
    /// shop's own log, once it spans two weeks, unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "6h")]
    pub pace: Option<String>,
    /// Lead time and review period together, in days, for the order point.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = 14)]
    pub cover_days: Option<i64>,
    /// Operator group; `own` unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub group: Option<String>,
    /// The current of the work in amperes: what was used is then told apart by the band of current that the
    /// shop has set for the electrode (below, inside, above), as far as it was logged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 2000)]
    pub amps: Option<i64>,
    /// The polarity of the work, `DCEN`, `DCEP` or `AC`: what was used is then told apart by it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub polarity: Option<String>,
    /// The torch of the work. Where the record shows that electrodes wear out rather than fail at random, need
    /// and chance then go by that, and by how long the one in the torch has been in. Without a torch, as for
    /// jobs and courses, use counts as random.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "T1")]
    pub torch: Option<String>,
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// `1` adds the figures behind each forecast.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explain: Option<String>,
    /// The instant to forecast from; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub now: Option<String>,
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

/// The forecasts that were asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Forecasts {
    /// The instant they stand for.
    pub as_of: DateTime<Utc>,
    /// What they stand for, in words; absent for the present.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands_for: Option<String>,
    /// The site.
    pub site: String,
    /// Operator group.
    pub group: String,
    /// One a part, in the order asked for.
    pub forecasts: Vec<Forecast>,
    /// Parts of which nothing can be said, and what to do about it.
    pub cannot_tell: Vec<CannotTell>,
}

/// A forecast for one part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Forecast {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// Mean use over what is to come.
    pub expected: f64,
    /// The chance of having enough that `need` gives.
    pub target: f64,
    /// The least stock with which the chance of having enough is at least the target.
    pub need: i64,
    /// Available now.
    pub available: i64,
    /// Why nothing of it is available: the site does not permit it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "not permitted at Tarnbridge")]
    pub held_because: Option<String>,
    /// The chance that what is available is enough.
    pub chance: f64,
    /// The rung of evidence it stands on.
    pub rung: Rung,
    /// The share of the shop's own data, 0 to 1; the rest is the starting assumption.
    pub own_share: f64,
    /// When to order: at this inventory position or below. Absent without a pace and a cover.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order_point: Option<i64>,
    /// When it runs out. Absent without a pace.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub run_out: Option<RunOut>,
    /// What is known of the current that was named. Absent if none was, or the record does not tell it apart.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub current: Option<ForecastCurrent>,
    /// What the lives of an electrode say, from one change at a torch to the next. Absent for other parts, for
    /// work at a current that was named, and while no whole life is on record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lives: Option<ForecastLives>,
    /// The forecast in plain words.
    pub says: String,
    /// The figures behind it, with which it can be redone on paper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explain: Option<Explanation>,
}

/// What the lives of an electrode say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ForecastLives {
    /// Whole lives on record, the newest 200 at most.
    pub whole: i64,
    /// Over so much of the driver together.
    pub over: f64,
    /// What the one in the torch of the work has done; absent if that is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age: Option<f64>,
    /// The shape of the lives: 1 for failing at random, more for wearing out evenly.
    pub shape: f64,
    /// How many times likelier even lives make the record; absent while there are too few of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bayes_factor: Option<f64>,
    /// Whether need and chance go by them; otherwise use counts as random.
    pub counts: bool,
    /// The same in plain words.
    pub says: String,
}

/// Work at a current that was named, beside all other work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ForecastCurrent {
    /// The current in amperes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub amps: Option<i64>,
    /// The polarity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub polarity: Option<String>,
    /// The least of the band that the shop has set, in amperes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub band_amps_min: Option<i64>,
    /// The greatest of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub band_amps_max: Option<i64>,
    /// What is known at each level of group, band and polarity; without those at which nothing was used.
    pub levels: Vec<CurrentLevel>,
    /// How many times as much this work uses as work at the levels that others are compared with; absent where
    /// it is kept apart, because too little was used in it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub factor: Option<f64>,
    /// The same in plain words.
    pub says: String,
}

/// One level of work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CurrentLevel {
    /// `group`, `band` or `polarity`.
    pub axis: String,
    /// The group; `below`, `inside` or `above` the band; the polarity; or `not told`.
    pub level: String,
    /// How many times as much it uses as the level that others are compared with, which has 1; absent while it
    /// is kept apart.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub factor: Option<f64>,
    /// Pieces used at it; absent for the level that others are compared with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub used: Option<i64>,
}

/// On what kind of evidence a forecast stands, best first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Rung {
    /// 1 (a counter) to 7 (nothing but the starting assumption).
    pub number: u8,
    /// The rung in words.
    pub name: String,
}

/// The day the stock on hand reaches nothing, as a range.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RunOut {
    /// One time in twenty it is before this day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub early: Option<NaiveDate>,
    /// As likely before as after.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub median: Option<NaiveDate>,
    /// One time in twenty it is after this day; absent if that is more than ten years off.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub late: Option<NaiveDate>,
}

/// The figures behind a forecast.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Explanation {
    /// The starting assumption.
    pub assumption: StartingAssumption,
    /// Whose assumption it is: `starting assumption` (built in) or `the shop's own`.
    pub assumption_source: String,
    /// Parts used, on record.
    pub used: i64,
    /// Over so much of the driver.
    pub over: f64,
    /// Shape of what follows from both: the assumption's shape and the parts used.
    pub shape: f64,
    /// Rate of what follows from both: the assumption's rate and the driver on record.
    pub rate: f64,
    /// So much of the driver is to come.
    pub to_come: f64,
    /// Since when there is a record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<DateTime<Utc>>,
    /// How to redo it.
    pub how: String,
}
