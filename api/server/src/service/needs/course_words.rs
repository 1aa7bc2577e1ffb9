//! The words for what only a course has: what it is worth, what its site bars, how its wear is kept
//! apart, and the racks of its stations.

use types::{CoursePart, CourseRack};

use super::Weighed;
use super::words::money;
use crate::service::learned::{percent, short};

/// What is to be said of a course beyond what is said of any work.
pub(super) struct OfCourse<'a> {
    pub(super) parts: &'a [CoursePart],
    /// What the expected use is worth, the same for a student-day, and the currency.
    pub(super) worth: Option<(i64, i64, &'a str)>,
    pub(super) barred: &'a [String],
    pub(super) rack: Option<&'a CourseRack>,
    pub(super) stations: i64,
    pub(super) weighed: &'a [Weighed],
}

/// The same in sentences.
pub(super) fn says(told: &OfCourse<'_>) -> Vec<String> {
    let mut says = Vec::new();
    if let Some((worth, each, currency)) = told.worth {
        says.push(format!(
            "Expected use is worth {}, {} a student-day.",
            money(worth, currency),
            money(each, currency)
        ));
    }
    if !told.barred.is_empty() {
        says.push(format!("Barred here: {}.", told.barred.join(", ")));
    }
    let is_electrode = |line: &&Weighed| super::course::is_electrode(line);
    let electrodes: Vec<&Weighed> = told.weighed.iter().filter(is_electrode).collect();
    let several = electrodes.len() > 1;
    for line in &electrodes {
        let part = told.parts.iter().find(|part| part.part == line.part.code);
        let what = if several {
            &*line.part.code
        } else {
            "electrodes"
        };
        says.extend(part.map(|part| kept_apart(part, what)));
    }
    if let Some(rack) = told.rack {
        let there: i64 = electrodes.iter().map(|line| line.after()).sum();
        says.push(rack_line(rack, told.stations, there));
    }
    says
}

fn kept_apart(part: &CoursePart, what: &str) -> String {
    let rate = short_two(part.per_student_day);
    let own = part.own_per_arc_hour.map_or_else(
        || "your own rate, of which no arc hours are logged".to_owned(),
        |own| format!("your own {} per arc hour", short_two(own)),
    );
    format!("Course use is about {rate} {what} per student-day; it is kept apart from {own}.")
}

/// A rate with two decimals, or more where it would be nothing.
fn short_two(rate: f64) -> String {
    if rate < 0.01 {
        short(rate)
    } else {
        format!("{rate:.2}")
    }
}

fn rack_line(rack: &CourseRack, stations: i64, there: i64) -> String {
    let CourseRack {
        each,
        all,
        minutes_between_visits,
        ..
    } = rack;
    let from = if rack.grinds_from == "as stated" {
        "as stated".to_owned()
    } else {
        format!("from {}", article(&rack.grinds_from))
    };
    let enough = if there >= *all {
        format!("{all} of the {there} there are after this order")
    } else {
        format!("{all} in all, and only {there} are there after this order: grind more often")
    };
    format!(
        "Before the start grind {each} electrodes for the rack of each of {stations} stations, {enough}; \
         a visit to the grinder each {minutes_between_visits} minutes then finds a rack empty {} of the time \
         ({} grinds per student-day, {from}).",
        percent(1.0 - rack.chance),
        short(rack.grinds_per_student_day),
    )
}

fn article(what: &str) -> String {
    if what.starts_with("your") {
        what.to_owned()
    } else {
        format!("a {what}")
    }
}
