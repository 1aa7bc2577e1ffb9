//! What is to be used in the days to come, in plain words.

use types::{BookedWork, ForecastAhead};

use super::record::Besides;
use crate::service::learned::{percent, short};

/// `Electrode WLa20 2.4 mm: 12 expected in 30 days (7 to 18), 7 available: a chance of 6 % that they last.`
pub(super) fn says(told: &ForecastAhead, days: u32) -> String {
    let (expected, low, high) = (short(told.expected), told.low, told.high);
    let (available, chance) = (told.available, percent(told.chance));
    let within = if days == 1 {
        "today".to_owned()
    } else {
        format!("in {days} days")
    };
    let mut says = vec![format!(
        "{}: {expected} expected {within} ({low} to {high}, 9 times in 10); {available} available, which \
         last with a chance of {chance}.",
        told.name
    )];
    let (counted, left): (Vec<&BookedWork>, Vec<_>) =
        told.booked.iter().partition(|it| it.to_come.is_some());
    let codes = |work: &[&BookedWork]| {
        let codes = work.iter().map(|it| it.job.as_str());
        codes.collect::<Vec<_>>().join(", ")
    };
    if !counted.is_empty() {
        says.push(format!("Booked work counts: {}.", codes(&counted)));
    }
    if !left.is_empty() {
        says.push(format!(
            "Not counted, for want of arc time or normal weeks: {}; see what that needs by itself.",
            codes(&left)
        ));
    }
    for course in &told.courses {
        says.push(format!("{course} comes on top; see what it needs."));
    }
    if let Some(point) = told.order_point.filter(|point| available <= *point) {
        says.push(format!("At or below its order point of {point}: order."));
    }
    says.join(" ")
}

/// Who uses it without any work on record.
pub(super) fn besides(all: &[Besides]) -> String {
    let each = all.iter().map(|besides| {
        format!(
            " The {} used by {} with no work on record count by the week: {} expected in one.",
            besides.used,
            besides.group,
            short(besides.known.mean()),
        )
    });
    each.collect()
}

/// What holds for every part; `week` is a stated pace in arc minutes.
pub(super) fn assumes(week: Option<f64>) -> Vec<String> {
    let weeks = match week {
        None => "Weeks to come are like those of the last half year, weekday by weekday, lulls aside; how far \
                 work was off that before is in the range."
            .to_owned(),
        Some(minutes) => format!(
            "A normal week has {} arc hours, as told, spread evenly over its seven days, lulls aside; that is \
             taken as certain.",
            short(minutes / 60.0)
        ),
    };
    vec![
        weeks,
        "Jobs that are booked come on top of normal work.".to_owned(),
        "A day with so much arc time that no grind at all is hardly possible, and none logged, counts as ground \
         like the other days of its group."
            .to_owned(),
    ]
}
