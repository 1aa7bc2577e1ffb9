//! Use over the days to come, at the pace of the shop's own weeks and with the work that is booked.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{CannotTell, RunOut};

/// Which days to forecast, and for which parts.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetForecastsAhead {
    /// Codes of parts, with commas between them; all parts that are fitted in torches unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "WLa20-2.4,cup-7")]
    pub part: Option<String>,
    /// How many days, today among them; 30 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 366)]
    pub days: Option<i64>,
    /// The chance of having enough that a need should give; 0.95 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<f64>,
    /// How often the stock is looked at, in days, for the order point; 7 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 90)]
    pub review_days: Option<i64>,
    /// Arc time of a normal week, with its unit, spread evenly over its days and taken as certain; that of
    /// the shop's own weeks unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "6h")]
    pub week: Option<String>,
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
}

/// Use over the days to come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ForecastsAhead {
    /// The instant they stand for.
    pub as_of: DateTime<Utc>,
    /// The site.
    pub site: String,
    /// The first day.
    pub from: NaiveDate,
    /// The last day.
    pub to: NaiveDate,
    /// One a part, in the order asked for.
    pub forecasts: Vec<ForecastAhead>,
    /// Parts of which nothing can be said, and what to do about it.
    pub cannot_tell: Vec<CannotTell>,
    /// What all of them assume.
    pub assumes: Vec<String>,
}

/// Use of one part over the days to come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ForecastAhead {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// What wear is counted by: `arc-hour`, `grind` or `week`; with two, both count.
    pub drivers: Vec<String>,
    /// What is to come in the main driver, by operator group, at the pace of the last half year and with
    /// what is booked.
    pub groups: Vec<GroupAhead>,
    /// Jobs that begin in these days and use the part, already among what is to come.
    pub booked: Vec<BookedWork>,
    /// Courses that begin in these days and use the part; they come on top, see their own needs.
    pub courses: Vec<String>,
    /// Mean use.
    pub expected: f64,
    /// One time in twenty fewer.
    pub low: i64,
    /// As likely fewer as more.
    pub median: i64,
    /// One time in twenty more.
    pub high: i64,
    /// The chance of having enough that `need` gives.
    pub target: f64,
    /// The least stock with which the chance of having enough is at least the target.
    pub need: i64,
    /// Available now.
    pub available: i64,
    /// The chance that what is available is enough.
    pub chance: f64,
    /// When to order: at this inventory position or below; the need over lead time and review together.
    /// Absent where nobody offers the part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order_point: Option<i64>,
    /// Days until an order of today is there, as likely sooner as later, of the supplier that is first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead_days: Option<i64>,
    /// When it runs out; a date is absent if it is more than a year off.
    pub run_out: RunOut,
    /// The forecast in plain words.
    pub says: String,
    /// The figures behind it, with which each of them can be redone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explain: Option<AheadExplanation>,
}

/// The figures behind a forecast of the days to come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AheadExplanation {
    /// What is assumed of the rate by each driver, in the order of the drivers.
    pub assumptions: Vec<AheadAssumption>,
    /// What is known of the rates, and from what: the groups whose factors are known together, then each
    /// that is kept apart. Nothing where use goes by the calendar.
    pub rates: Vec<AheadRate>,
    /// Use that goes by the calendar, since no work is on record with it.
    pub calendar: Vec<AheadCalendar>,
    /// Grinds to an arc hour, by group in their order; where both drivers count.
    pub paces: Vec<f64>,
    /// The work of each day that a figure here is over, with what is booked.
    pub work: Vec<AheadDay>,
    /// Over the days that were asked for.
    pub forecast: AheadSpan,
    /// For the order point: until an order of today is there and the stock has been looked at once more, for
    /// each number of days that this may take. Empty where nobody offers the part.
    pub order_point: Vec<AheadSpan>,
    /// How to redo it.
    pub how: String,
}

/// A starting assumption by one driver, and whose it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AheadAssumption {
    /// `arc-hour`, `grind` or `week`.
    pub per: String,
    /// Shape: as if so many parts had been used.
    pub shape: f64,
    /// Rate: over so much of the driver.
    pub rate: f64,
    /// Whose assumption it is.
    pub source: String,
}

/// What is known of the rates in some groups.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AheadRate {
    /// The groups.
    pub groups: Vec<String>,
    /// Pieces they used.
    pub used: i64,
    /// Over so much of each driver, in the order of the drivers: the sum over the groups of what was logged,
    /// times the factor of the group.
    pub over: Vec<f64>,
    /// Pieces to a unit of each driver, as expected.
    pub means: Vec<f64>,
    /// With one driver: the shape of what is known, the assumption's and the pieces used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shape: Option<f64>,
    /// With one driver: its rate, the assumption's and the driver on record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rate: Option<f64>,
}

/// Use that goes by the calendar.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AheadCalendar {
    /// The group, or `all`.
    pub group: String,
    /// Pieces used.
    pub used: i64,
    /// Pieces to come in a normal week, as expected.
    pub a_week: f64,
}

/// The work of a day to come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AheadDay {
    /// The day.
    pub day: NaiveDate,
    /// How much of the main driver, by group in their order.
    pub work: Vec<f64>,
}

/// Use over the first days to come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AheadSpan {
    /// How many days, today among them.
    pub days: i64,
    /// The chance that it is so many.
    pub chance: f64,
    /// What use may be, each with its chance.
    pub cases: Vec<AheadCase>,
}

/// One law that use may have: negative binomial.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AheadCase {
    /// The chance of it.
    pub chance: f64,
    /// How many times the planned work is done; absent where use goes by the calendar.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub times: Option<f64>,
    /// The shape.
    pub shape: f64,
    /// Mean use.
    pub mean: f64,
}

/// Work to come of one operator group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GroupAhead {
    /// The group.
    pub group: String,
    /// How much of the main driver is to come.
    pub to_come: f64,
    /// How much of it is booked.
    pub booked: f64,
    /// How much was logged, all in all.
    pub logged: f64,
    /// How fast it uses parts, beside the average of all groups; absent until enough was used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub factor: Option<f64>,
}

/// A job that is booked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct BookedWork {
    /// The code of the job.
    pub job: String,
    /// The day it begins.
    pub start: NaiveDate,
    /// How much of the main driver it takes within these days; absent if its size is in another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_come: Option<f64>,
}
