//! The words for what a procedure permits in the place of what is short, and for what is left to do
//! if nothing does: move the start, or have the procedure revised. There is no third way.

use chrono::{Datelike, Days, NaiveDate, Weekday};
use types::{AllowedPart, Needs};

use super::Weighed;
use super::procedure::Instead;
use crate::service::procedures::InForce;
use crate::service::{Error, parts};

/// What is allowed, what is not offered, and what to do if nothing that is permitted is there in time.
pub(super) fn says(
    needs: &Needs,
    (in_force, instead): (&InForce, &Instead),
    weighed: &[Weighed],
    earliest: impl Fn(&Weighed) -> Option<NaiveDate>,
) -> Result<Vec<String>, Error> {
    let mut says = Vec::new();
    for line in weighed.iter().filter(|line| line.short > 0) {
        let own = class_of(line)?;
        let allowed = instead.allowed.iter();
        let allowed: Vec<&AllowedPart> = allowed
            .filter(|part| part.instead_of == line.part.code)
            .collect();
        says.extend(
            allowed
                .iter()
                .map(|part| offered(part, line, &own, in_force)),
        );
        let comes = line.after() >= line.need;
        if !comes && !allowed.iter().any(|part| part.covers) {
            says.push(nothing(needs, in_force, earliest(line)));
        }
    }
    let refused: Vec<&str> = instead.not_offered.iter().map(|it| &*it.says).collect();
    if !refused.is_empty() {
        says.push(format!("Not offered: {}.", refused.join(". ")));
    }
    Ok(says)
}

/// `Allowed by PROC-11: WCe20 2.4 mm, 7 available (9 on hand, 2 allocated to R-120). With your 2 WLa20
/// that is 9 against a need of 6.`
fn offered(part: &AllowedPart, line: &Weighed, own: &str, in_force: &InForce) -> String {
    let mut there = vec![format!("{} on hand", part.on_hand)];
    let promised = part.allocated.iter();
    there.extend(promised.map(|it| format!("{} allocated to {}", it.quantity, it.job)));
    let enough = if part.covers {
        ""
    } else {
        ", which is not enough"
    };
    format!(
        "Allowed by {}: {}, {} available ({}). With your {} {own} that is {} against a need of {}{enough}.",
        in_force.code,
        part.name,
        part.available,
        there.join(", "),
        line.available + line.on_order.in_time,
        part.together,
        part.need
    )
}

/// `No permitted part can be on the bench by Monday 07:00. Choices: move the start to Fri 8 Jan, or ask
/// the person responsible to revise PROC-11.`
fn nothing(needs: &Needs, in_force: &InForce, earliest: Option<NaiveDate>) -> String {
    let revise = format!("ask the person responsible to revise {}", in_force.code);
    if needs.under_way.is_some() {
        let until = earliest.map_or_else(
            || "nobody offers one that comes".to_owned(),
            |day| format!("the first comes {}", day.format("%a %-d %b")),
        );
        return format!(
            "No other permitted part is there, and {until}. Choices: stop when what is there is used up, or {revise}."
        );
    }
    let start = format!("{} {}", needs.start.format("%A"), needs.start_time);
    let choices = match earliest.map(next_weekday) {
        Some(day) if day > needs.start => {
            format!(
                "Choices: move the start to {}, or {revise}",
                day.format("%a %-d %b")
            )
        }
        _ => format!("Nobody offers one that comes. Choice: {revise}"),
    };
    format!("No permitted part can be on the bench by {start}. {choices}.")
}

/// The class of an electrode that is short.
fn class_of(line: &Weighed) -> Result<String, Error> {
    let spec = parts::spec(&line.part)?;
    let class = spec.class().map(|class| class.to_string());
    Ok(class.unwrap_or_else(|| spec.describe()))
}

/// The first day, Monday to Friday, after what comes on a day is here.
fn next_weekday(arrives: NaiveDate) -> NaiveDate {
    let days = (1..=3).map(|days| arrives + Days::new(days));
    let mut open = days.filter(|day| !matches!(day.weekday(), Weekday::Sat | Weekday::Sun));
    open.next().unwrap_or(arrives)
}

/// What is taken for granted of what could take the place.
pub(super) fn assumes(instead: &Instead, weighed: &[Weighed]) -> Result<Vec<String>, Error> {
    let mut assumes = Vec::new();
    for part in &instead.allowed {
        let line = weighed
            .iter()
            .find(|line| line.part.code == part.instead_of);
        let Some(line) = line else { continue };
        let other = part.name.split(' ').next().unwrap_or_default();
        let own = class_of(line)?;
        let history = if instead.without_history.contains(&part.part) {
            format!("; you have no {other} history on this torch")
        } else {
            String::new()
        };
        assumes.push(format!("Assumes {other} wears like {own} here{history}."));
    }
    Ok(assumes)
}
