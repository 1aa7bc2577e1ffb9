//! The track record: how often forecasts held on the shop's own history, beside simple methods, and the
//! chart of it.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{CannotTell, Rung, StartingAssumption};

/// The media type of a chart.
pub const CHART_MEDIA_TYPE: &str = "image/svg+xml";

/// Which forecasts to go through again.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetTrackRecord {
    /// Codes of parts, with commas between them, at most 200; all parts that are fitted in torches unless
    /// told. A chart takes one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "WLa20-2.4")]
    pub part: Option<String>,
    /// Into what the history is cut: `week` (from Monday) or `month`; `week` unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "week")]
    pub period: Option<String>,
    /// Over how many periods each forecast is, 1 to 12; 1 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 12)]
    pub ahead: Option<i64>,
    /// Operator group; `own` unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub group: Option<String>,
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// `1` adds each forecast with what came.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explain: Option<String>,
    /// The instant up to which to look; the present unless told.
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

/// How the forecasts of some parts did.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TrackRecords {
    /// The instant they stand for.
    pub as_of: DateTime<Utc>,
    /// What they stand for, in words; absent for the present.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands_for: Option<String>,
    /// The site.
    pub site: String,
    /// Operator group.
    pub group: String,
    /// Into what the history is cut: `week` or `month`.
    #[schema(example = "week")]
    pub period: String,
    /// Over how many periods each forecast is.
    pub ahead: u32,
    /// One a part, in the order asked for.
    pub records: Vec<TrackRecord>,
    /// Parts of which nothing can be said yet, and what to do about it.
    pub cannot_tell: Vec<CannotTell>,
    /// What the figures assume, in plain words.
    pub assumes: Vec<String>,
}

/// How the forecasts of one part did. Its history is gone through as if each period were still to come: every
/// forecast is made from what came before it, and held against what was used then.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TrackRecord {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// What wear is counted by, the best that is logged of the part: `arc-hour`, `grind`, `student-day` or
    /// `week`.
    #[schema(example = "arc-hour")]
    pub driver: String,
    /// The rung of evidence that the part stands on.
    pub rung: Rung,
    /// The starting assumption that the first forecast stands on.
    pub assumption: StartingAssumption,
    /// Whose assumption it is: `starting assumption` (built in) or `the shop's own`.
    pub assumption_source: String,
    /// The first day of the history: that of the first full period.
    pub from: NaiveDate,
    /// The last day of the history: that of the last period that is over.
    pub to: NaiveDate,
    /// Periods in the history, at most 520. The first 12 are only learned from.
    pub periods: u32,
    /// Forecasts that were made and held against what came.
    pub forecasts: u32,
    /// Of those, the ones in which anything was used.
    pub with_use: u32,
    /// Of the forecasts, the ones over periods for which nothing of the driver was logged.
    pub without_exposure: u32,
    /// Of those in turn, the ones in which something was used all the same, which no forecast can meet.
    pub used_without_exposure: u32,
    /// What the 90 % range says of the forecasts: `held` (as often as it should: within two standard errors, or
    /// within 0.02), `too-narrow` (less often), `too-wide` (more often) or `too-few` (under 20 forecasts, or
    /// under 5 in which anything was used, which say little).
    #[schema(example = "held")]
    pub verdict: String,
    /// How the forecasts of this service did.
    pub own: MethodScore,
    /// How simple methods did on the same periods. They know the periods alone, not the driver.
    pub methods: Vec<MethodScore>,
    /// Which method lost least, at each of the chances.
    pub best: Vec<BestMethod>,
    /// The record in plain words, and what to do where it is poor.
    pub says: String,
    /// Each forecast with what came, oldest first; with `explain=1` only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub each: Option<Vec<PastForecast>>,
}

/// How the forecasts of one method did.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct MethodScore {
    /// `own`: the wear rate that this service forecasts with. `moving-average`: the mean of the last twelve
    /// periods. `croston`: the mean size of a use over the mean number of periods between two, both smoothed;
    /// `syntetos-boylan`: the same less its bias. `teunter-syntetos-babai`: the size of a use times the chance
    /// of one, both smoothed. `changing-rate`, of parts that go by the week: a rate in which older weeks count
    /// less, as the record itself suggests. A method that gives only a number is given the range of its own
    /// errors.
    #[schema(example = "moving-average")]
    pub method: String,
    /// The method in words.
    pub name: String,
    /// How often the ranges held that should hold in 50, 80 and 90 of 100 forecasts.
    pub ranges: Vec<RangeScore>,
    /// Calibration: the share of what was used that fell into each tenth of its forecast, from the lowest.
    /// All are near 0.1 if forecasts are right; high ends mean ranges that are too narrow, a slope means
    /// forecasts that are too low or too high.
    pub calibration: Vec<f64>,
    /// By how much forecasts missed, at the chances 0.5, 0.9 and 0.95.
    pub losses: Vec<LossAt>,
}

/// How often a range held.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct RangeScore {
    /// How often it should hold: 0.5, 0.8 or 0.9.
    pub promised: f64,
    /// How often it held, to be compared with `promised`. A range of whole pieces holds more than it must, and
    /// this figure is without that surplus: where what was used lies at the end of the range, it counts in
    /// part.
    pub held: f64,
    /// How far off `held` may be by chance: its standard error. Two of them are a wide margin. The overlap of
    /// forecasts over several periods is allowed for.
    pub error: f64,
    /// How often what was used lay within the range of whole pieces, its ends included; more than `promised`
    /// even if all is well.
    pub in_whole_pieces: f64,
}

/// By how much forecasts missed at one chance (the pinball loss).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LossAt {
    /// The chance p: 0.5, 0.9 or 0.95. The figure that the method gives for it is the least stock that should
    /// be enough with this chance.
    pub chance: f64,
    /// The mean over all forecasts, in the unit of the part: each piece short of that figure counts p, each
    /// piece left over 1 - p. At 0.95 a piece short weighs as much as 19 left over. Less is better; between
    /// methods only.
    pub loss: f64,
}

/// The method that lost least at one chance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct BestMethod {
    /// The chance: 0.5, 0.9 or 0.95.
    pub chance: f64,
    /// The method; `own` where none did better.
    #[schema(example = "own")]
    pub method: String,
}

/// One forecast, as if it were still to come, beside what came.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PastForecast {
    /// The first day that it is over.
    pub from: NaiveDate,
    /// The last day that it is over.
    pub to: NaiveDate,
    /// So much of the driver was logged on these days.
    pub exposure: f64,
    /// The least of the 90 % range.
    pub low: i64,
    /// As likely less as more.
    pub median: i64,
    /// The most of the 90 % range.
    pub high: i64,
    /// What was used, net of returns.
    pub used: i64,
    /// Whether that lies within the range, its ends included.
    pub held: bool,
}

/// A chart: SVG 1.1 in UTF-8, with a title and a description for readers who do not see it.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String)]
pub struct ChartImage(pub String);
