//! What the count list says to people. Nothing here tells what a book says there is.

use super::Weighed;
use super::drift::Drifts;
use crate::service::drawers::places::listed;
use crate::service::learned::{percent, short};
use crate::store::entity::drawers;

/// Why a part is worth counting; nothing in it tells what the book says there is.
pub(super) fn why(part: &Weighed, drawer: Option<&drawers::Model>) -> String {
    let since = || {
        let (entries, time) = (part.drift.movements, time(part.drift.weeks));
        let entries = if entries == 1 {
            "1 entry".to_owned()
        } else {
            format!("{entries} entries")
        };
        format!("{entries} and {time} since it was counted")
    };
    let reason = if part.worth.below_zero > 0 {
        "The book is below zero: a receipt or a count is missing.".to_owned()
    } else if part.worth.never_counted > 0 {
        "Never counted.".to_owned()
    } else if let Some(chance) = part.chance {
        let chance = percent(chance);
        format!("{chance} to change an order: {}.", since())
    } else {
        let unit = part.spec.kind().unit().as_str();
        format!("Kept in {unit}, so no chance is told: {}.", since())
    };
    let others = part
        .lies
        .iter()
        .filter(|it| drawer.is_some_and(|drawer| drawer.id != it.id));
    let others: Vec<&drawers::Model> = others.collect();
    if others.is_empty() {
        return reason;
    }
    format!("{reason} It lies in {} too: count all.", listed(others))
}

/// A stretch of time as people say it: 4 weeks, 9 days, less than a day.
fn time(weeks: f64) -> String {
    let days = (weeks * 7.0).floor();
    if weeks >= 2.0 {
        format!("{} weeks", short(weeks))
    } else if days >= 2.0 {
        format!("{days:.0} days")
    } else if days >= 1.0 {
        "1 day".to_owned()
    } else {
        "less than a day".to_owned()
    }
}

/// The list in one sentence: how much there is to count, and how often books go wrong.
pub(super) fn says((counted, all): (usize, usize), lines: usize, drifts: &Drifts) -> String {
    let name = |number: usize, one: &str, many: &str| {
        let word = if number == 1 { one } else { many };
        format!("{number} {word}")
    };
    let from = match drifts.intervals {
        0 => "a starting assumption".to_owned(),
        1 => "1 count of yours and a starting assumption".to_owned(),
        counts => format!("{counts} counts of yours and a starting assumption"),
    };
    format!(
        "{} of {} to count, {}. In 100 entries and weeks {} pieces go missing and {} turn up, by {from}.",
        counted,
        name(all, "place", "places"),
        name(lines, "line", "lines"),
        short(100.0 * drifts.rates.losses.mean()),
        short(100.0 * drifts.rates.gains.mean()),
    )
}
