//! The track record in plain words: what held, what a simple method would have cost, and what to do.

use domain::exposure::Driver;
use domain::part::Unit;
use domain::track_record::{Method, Plan};
use types::{MethodScore, TrackRecord};

use super::history::{Length, PERIODS_MAX};
use super::{CHANGING, Judged, OWN};
use crate::service::learned::{percent, short};

/// Fewer forecasts than these say nothing of a range that should hold in 9 of 10.
const JUDGED_LEAST: u32 = 20;
/// Nor do forecasts of which fewer met any use.
const USED_LEAST: u32 = 5;
/// A share that is off by less than this makes no difference to what is kept.
const OFF_LEAST: f64 = 0.02;
/// So many standard errors off is more than chance explains, one time in twenty.
const ERRORS_WIDE: f64 = 2.0;
/// Where among the ranges the one of 90 % is, and among the chances that of a need.
const NINE_IN_TEN: usize = 2;
const NEED: usize = 2;

/// A method in words, as they stand in a sentence.
pub(super) fn name_of(method: &str) -> &'static str {
    match Method::parse(method) {
        Ok(Method::MovingAverage) => "the average of the last twelve",
        Ok(Method::Croston) => "Croston's method",
        Ok(Method::SyntetosBoylan) => "the method of Syntetos and Boylan",
        Ok(Method::Tsb) => "the method of Teunter, Syntetos and Babai",
        Err(_) if method == CHANGING => "a rate that may change",
        Err(_) => "the wear rate of this service",
    }
}

/// What the 90 % range says of forecasts, of which so many met some use.
///
/// A range that nothing was used in holds whatever the wear rate is, so a part that is hardly ever used is not
/// judged by it, unless it was off all the same.
pub(super) fn verdict(own: &MethodScore, forecasts: u32, with_use: u32) -> &'static str {
    let Some(range) = own.ranges.get(NINE_IN_TEN) else {
        return "too-few";
    };
    let off = range.held - range.promised;
    let within = off.abs() <= (ERRORS_WIDE * range.error).max(OFF_LEAST);
    if forecasts < JUDGED_LEAST || (within && with_use < USED_LEAST) {
        "too-few"
    } else if within {
        "held"
    } else if off < 0.0 {
        "too-narrow"
    } else {
        "too-wide"
    }
}

/// The record in a few sentences.
pub(super) fn says(record: &TrackRecord, part: &Judged, (length, ahead): (Length, u32)) -> String {
    let mut told = vec![how_often(record, (length, ahead))];
    told.push(what_of_it(record).to_owned());
    told.extend(beside_others(record, part));
    if record.used_without_exposure > 0 {
        let (times, plural) = (record.used_without_exposure, part.learned.driver.plural());
        told.push(format!(
            "In {times} of them something was used and no {plural} were logged, which no forecast can meet: \
             log the {plural} with every session."
        ));
    }
    told.join(" ")
}

fn how_often(record: &TrackRecord, (length, ahead): (Length, u32)) -> String {
    let held = record.own.ranges.get(NINE_IN_TEN);
    let held = held.map_or(0.0, |range| range.held);
    let (times, noun) = (record.forecasts, length.as_str());
    let over = if ahead == 1 {
        format!("a {noun}")
    } else {
        format!("{ahead} {noun}s")
    };
    let forecasts = if times == 1 { "forecast" } else { "forecasts" };
    format!(
        "Of {times} {forecasts} of {over}, 9 in 10 should have what was used then within their 90 % range; {} did.",
        percent(held)
    )
}

fn what_of_it(record: &TrackRecord) -> &'static str {
    match &*record.verdict {
        "too-narrow" => {
            "That is less than chance explains, so the ranges are too narrow: plan at a higher target, such as \
             99 %, until they hold."
        }
        "too-wide" => {
            "That is more than chance explains, so the ranges are wider than they need be, and what is kept by \
             them is on the high side."
        }
        "held" => "The difference is within what chance explains.",
        _ if record.forecasts < JUDGED_LEAST => "They are too few to judge by; 20 would do.",
        _ => "Too few of them met any use to judge by; ask again when more is on record.",
    }
}

/// By how much needs missed beside the best of the other methods, at the chance that needs stand on.
fn beside_others(record: &TrackRecord, part: &Judged) -> Option<String> {
    let loss = |score: &MethodScore| score.losses.get(NEED).map(|it| it.loss);
    let own = loss(&record.own)?;
    let others = record
        .methods
        .iter()
        .filter_map(|score| Some((&*score.method, loss(score)?)));
    let (best, least) = others.min_by(|a, b| a.1.total_cmp(&b.1))?;
    let unit = match part.spec.kind().unit() {
        Unit::Piece => "pieces",
        Unit::Millilitre => "mL",
        Unit::Gram => "g",
    };
    if own.max(least) < 0.000_5 {
        // Hardly anything was used, and no method had much to miss.
        return None;
    }
    let missed = format!(
        "What they would have kept for 95 % missed by {} {unit} on average, short weighed as 0.95 and left over as \
         0.05",
        short(own)
    );
    if record.best.get(NEED).is_some_and(|it| it.method == OWN) {
        return Some(format!(
            "{missed}; no simple method missed by less ({}: {}).",
            name_of(best),
            short(least)
        ));
    }
    Some(format!(
        "{missed}; {} did better, with {}. Should it stay so: {}",
        name_of(best),
        short(least),
        remedy(part.learned.driver, best)
    ))
}

/// What to do where a simple method did better.
fn remedy(driver: Driver, best: &str) -> &'static str {
    match driver {
        Driver::Weeks if best == CHANGING => {
            "use is changing; log arc time or grinds, so that forecasts can follow the work."
        }
        Driver::Weeks => {
            "log arc time or grinds, so that forecasts can follow the work rather than the weeks."
        }
        Driver::ArcTime => {
            "see that the arc time of every session is logged; if it is, forecast this part by weeks."
        }
        Driver::Grinds => "see that every grind is logged; if it is, forecast this part by weeks.",
        Driver::StudentDays => "see that the student-days of every course are logged.",
    }
}

/// What the figures assume.
pub(super) fn assumes(
    drivers: impl Iterator<Item = Driver>,
    length: Length,
    ahead: u32,
) -> Vec<String> {
    let noun = length.as_str();
    let first = Plan::USUAL.first;
    let mut told = vec![format!(
        "Each forecast knew what came before it and nothing later; the first {first} {noun}s are only learned \
         from, and at most {PERIODS_MAX} {noun}s are looked at."
    )];
    let mut plurals: Vec<&str> = drivers
        .filter(|driver| *driver != Driver::Weeks)
        .map(Driver::plural)
        .collect();
    plurals.sort_unstable();
    plurals.dedup();
    if !plurals.is_empty() {
        told.push(format!(
            "Forecasts by {} were told how many there would be, so the record judges the wear rate and not how \
             well the work to come was known; the simple methods know the {noun}s alone.",
            plurals.join(" or ")
        ));
    }
    told.push(
        "What was used at the very end of a range counts in part, since a range of whole pieces holds more than it \
         must."
            .to_owned(),
    );
    if ahead > 1 {
        told.push(format!(
            "Forecasts over {ahead} {noun}s overlap, so neighbours hold or fail together; the error allows for it."
        ));
    }
    told
}

/// Why there is no record of a part that was never used.
pub(super) fn nothing_logged() -> String {
    "nothing is logged of it yet; log use, and ask again in some months".to_owned()
}

/// Why a record is too short, and when it will not be.
pub(super) fn too_short(there: u32, length: Length, ahead: u32) -> String {
    let (noun, first) = (length.as_str(), Plan::USUAL.first);
    let needed = first.saturating_add(ahead);
    let more = needed.saturating_sub(there);
    let plural = |number: u32| if number == 1 { "" } else { "s" };
    let sooner = match length {
        Length::Week => "",
        Length::Month => ", or ask by week",
    };
    format!(
        "a track record needs {needed} full {noun}s on record and there {} {there}; ask again in {more} \
         {noun}{}{sooner}",
        if there == 1 { "is" } else { "are" },
        plural(more)
    )
}
