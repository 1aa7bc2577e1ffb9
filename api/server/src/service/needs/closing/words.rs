//! How a piece of work ended, in plain words.

use domain::exposure::ArcTime;
use types::{Closing, ClosingLine, WorkSize};

use crate::service::learned::short;

/// How far the plan was off: its size, then each part that was out of its range, then how many were
/// within, and who learns from it.
pub(super) fn says(closing: &Closing) -> Vec<String> {
    let mut says: Vec<String> = size(closing).into_iter().collect();
    says.extend(
        closing
            .lines
            .iter()
            .filter(|line| !line.within)
            .map(out_of_range),
    );
    let told: Vec<&ClosingLine> = closing
        .lines
        .iter()
        .filter(|line| line.expected.is_some())
        .collect();
    if !told.is_empty() {
        let within = told.iter().filter(|line| line.within).count();
        says.push(format!(
            "Within the range that was expected 9 times in 10: {within} of {}.",
            counted(told.len())
        ));
    }
    let other = if closing.kind == "course" {
        " Course use is kept apart from your own."
    } else {
        ""
    };
    says.push(format!(
        "What it used is learned from for the group {}.{other}",
        closing.group
    ));
    says
}

fn counted(parts: usize) -> String {
    if parts == 1 {
        "1 part".to_owned()
    } else {
        format!("{parts} parts")
    }
}

/// `R-118 took 38 h of arc time, and 34 h were planned: 12 % more.`
fn size(closing: &Closing) -> Option<String> {
    let (took, planned, what) = measure(&closing.took, &closing.planned)?;
    let per_cent = if planned == 0 {
        0
    } else {
        ((took - planned) * 100 + (took - planned).signum() * planned / 2) / planned
    };
    let off = match per_cent {
        0 => "as planned".to_owned(),
        more if more > 0 => format!("{more} % more"),
        less => format!("{} % less", -less),
    };
    let show = |amount: i64| {
        if what == ARC {
            span(amount)
        } else {
            amount.to_string()
        }
    };
    Some(format!(
        "{} took {} {what}, and {} were planned: {off}.",
        closing.code,
        show(took),
        show(planned),
    ))
}

const ARC: &str = "of arc time";

fn measure(took: &WorkSize, planned: &WorkSize) -> Option<(i64, i64, &'static str)> {
    let pairs = [
        (took.arc_minutes, planned.arc_minutes, ARC),
        (took.grinds, planned.grinds, "grinds"),
        (took.student_days, planned.student_days, "student-days"),
    ];
    let mut known = pairs.into_iter();
    known.find_map(|(took, planned, what)| Some((took?, planned?, what)))
}

fn span(minutes: i64) -> String {
    let time = ArcTime::from_seconds(minutes * 60);
    time.map_or_else(|_| format!("{minutes} min"), |time| time.to_string())
}

/// `Cup no. 7: 9 used, 1.5 expected (0 to 4): more than the range.`
fn out_of_range(line: &ClosingLine) -> String {
    let (low, high) = (line.low.unwrap_or(0), line.high.unwrap_or(0));
    let expected = line.expected.unwrap_or(0.0);
    let side = if line.used > high { "more" } else { "fewer" };
    let after = line.expected_for_what_it_took.filter(|after| {
        // Only where the size was another: a tenth of a piece is nothing to tell of.
        (after - expected).abs() >= 0.1
    });
    let after = after.map_or_else(String::new, |after| {
        format!(" For what it took, {} were to be expected.", short(after))
    });
    format!(
        "{}: {} used, {} expected ({low} to {high}): {side} than the range.{after}",
        line.name,
        line.used,
        short(expected),
    )
}
