//! A revision of a procedure in one line, and days as a signature has them.

use chrono::{DateTime, FixedOffset};
use types::ProcedureRequirement;

/// `12 Feb 2026`.
pub(in crate::service) fn dated(at: &DateTime<FixedOffset>) -> String {
    at.format("%-d %b %Y").to_string()
}

/// `PROC-07 rev 2: class WLa20, diameter 2.4 mm, tip 30 degrees included, no substitution.`
pub(super) fn revision(code: &str, number: i64, requires: &ProcedureRequirement) -> String {
    let lists = [
        ("class", &requires.classes),
        ("class WG of grade", &requires.grades),
        ("diameter", &requires.diameters),
        ("cup no.", &requires.cups),
        ("arrangement", &requires.arrangements),
        ("gas", &requires.gases),
        ("filler", &requires.fillers),
    ];
    let told = lists.iter().filter_map(|(word, list)| {
        let list = list.as_ref()?;
        Some(format!("{word} {}", list.join(" or ")))
    });
    let mut told: Vec<String> = told.collect();
    told.extend(requires.length.as_ref().map(|it| format!("length {it}")));
    let tip = requires.tip_angle;
    told.extend(tip.map(|angle| format!("tip {angle} degrees included")));
    if !requires.substitution {
        told.push("no substitution".to_owned());
    }
    format!("{code} rev {number}: {}.", told.join(", "))
}
