//! What a course needs, and the cards of its stations.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::Needs;

/// What a course needs, and what it costs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CourseNeeds {
    /// The course.
    #[schema(example = "course-0912")]
    pub course: String,
    /// The site where it is held.
    pub site: String,
    /// Its last day; the first one is the start of its needs.
    pub ends: NaiveDate,
    /// How many students.
    pub heads: i64,
    /// On how many days.
    pub days: i64,
    /// At how many stations.
    pub stations: i64,
    /// Students times days.
    pub student_days: i64,
    /// What is practised.
    pub exercises: Vec<String>,
    /// What the site bars.
    pub barred: Vec<String>,
    /// What it needs, as of a job: the chance that nobody stops for a part, a line a part, the order,
    /// and everything in plain words.
    pub needs: Needs,
    /// What the course costs of each part, and how fast students wear it.
    pub parts: Vec<CoursePart>,
    /// What the expected use is worth in minor units; absent if a part has no price, or prices are in
    /// several currencies.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 14230)]
    pub worth_minor: Option<i64>,
    /// The same for each student-day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 593)]
    pub worth_per_student_day_minor: Option<i64>,
    /// ISO 4217 code of the currency of both.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub worth_currency: Option<String>,
    /// The ground electrodes that lie ready at each station; absent if the kit has no electrode.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rack: Option<CourseRack>,
}

/// What a course costs of one part, and how fast students wear it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CoursePart {
    /// The code of the part.
    pub part: String,
    /// Pieces in a student-day, on average.
    #[schema(example = 0.846)]
    pub per_student_day: f64,
    /// Pieces in an arc hour of the shop's own group, which the course never changes; absent without
    /// logged arc time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 0.1395)]
    pub own_per_arc_hour: Option<f64>,
    /// What the expected use is worth at the cheapest price of a piece, in minor units; absent if
    /// nobody offers it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub worth_minor: Option<i64>,
    /// ISO 4217 code of the currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
}

/// The ground electrodes that lie ready at each station, so that a student takes the next one instead
/// of queueing at the grinder.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CourseRack {
    /// In the rack of each station, beside the one in its torch.
    #[schema(example = 4)]
    pub each: i64,
    /// In all racks together.
    #[schema(example = 24)]
    pub all: i64,
    /// How many a station blunts between two visits to the grinder, on average.
    pub expected: f64,
    /// The chance that a rack lasts from one visit to the next.
    pub chance: f64,
    /// From visit to visit so many times in the whole course.
    pub sessions: i64,
    /// How many times, on average, some rack is empty before the visit in the whole course.
    pub empty_expected: f64,
    /// Grinds in a student-day.
    pub grinds_per_student_day: f64,
    /// Where that rate is from.
    #[schema(example = "starting assumption")]
    pub grinds_from: String,
    /// Minutes from one visit to the next.
    pub minutes_between_visits: i64,
    /// Minutes at the torch in a day.
    pub minutes_a_day: i64,
}

/// The cards of the stations of a course.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CourseStations {
    /// The course.
    pub course: String,
    /// What people call it.
    pub name: String,
    /// The site where it is held.
    pub site: String,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
    /// Its first day.
    pub starts: NaiveDate,
    /// Its last day.
    pub ends: NaiveDate,
    /// What is practised.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub exercises: Vec<String>,
    /// One card a station.
    pub stations: Vec<StationCard>,
    /// The cautions that go on each card.
    pub cautions: Vec<String>,
}

/// The card of one station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StationCard {
    /// Its number, from 1.
    pub station: i64,
    /// What a label of the station says, in its code and under it.
    #[schema(example = "course-0912 station 3")]
    pub label: String,
    /// How many students weld there.
    pub students: i64,
    /// The code of its kit.
    pub kit: String,
    /// What the kit holds.
    pub parts: Vec<StationPart>,
    /// Ground electrodes in its rack, beside the one in the torch.
    pub rack: i64,
    /// The card as text, line by line.
    pub lines: Vec<String>,
}

/// A part of the kit of a station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StationPart {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// How many of it.
    pub quantity: i64,
    /// Why it may not be used: the site does not permit it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held_because: Option<String>,
}
