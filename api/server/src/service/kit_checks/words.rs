//! The kit check in plain words: complete or what is missing, by name, and what to do.

use domain::kit;
use domain::part::{BodyFamily, PartSpec};
use domain::size::RodLength;

use super::{Checked, ShortRod};
use crate::store::entity::sites;

/// The whole answer.
pub(super) fn says(
    checked: &[Checked],
    count: i64,
    limit: Option<&Checked>,
    site: &sites::Model,
) -> Vec<String> {
    let mut says = vec![headline(checked, count, limit)];
    let barred = checked.iter().filter_map(|part| {
        let because = part.held_because.as_ref()?;
        let code = &part.part.code;
        Some(format!(
            "{code} is {because}. Next: use a permitted class, or do the work at a site that permits it."
        ))
    });
    says.extend(barred);
    for part in checked.iter().filter(|part| part.held_because.is_none()) {
        match &part.short_rod {
            Some(rod) => says.extend(stubs(part, rod)),
            None if part.slot.missing() > 0 => says.push(missing(part, site)),
            None => {}
        }
    }
    says
}

/// `Incomplete: 1 part missing. O-ring, back cap, large body.`
fn headline(checked: &[Checked], count: i64, limit: Option<&Checked>) -> String {
    let missing: Vec<&Checked> = checked
        .iter()
        .filter(|part| part.slot.missing() > 0)
        .collect();
    let names: Vec<String> = missing.iter().map(|part| part.spec.describe()).collect();
    let names = names.join("; ");
    if checked.iter().any(|part| part.held_because.is_some()) {
        return format!("Not permitted here: {names}.");
    }
    match (missing.len(), limit) {
        (0, Some(limit)) => {
            let kits = if count == 1 { "kit" } else { "kits" };
            format!(
                "Complete: {count} {kits}. Limited by: {}.",
                limit.spec.describe()
            )
        }
        (0, None) => "Complete.".to_owned(),
        (1, _) => format!("Incomplete: 1 part missing. {names}."),
        (many, _) => format!("Incomplete: {many} parts missing. {names}."),
    }
}

/// What there is of a part that is missing.
fn missing(part: &Checked, site: &sites::Model) -> String {
    let (code, slot) = (&part.part.code, part.slot);
    let there = slot.available.max(0);
    format!(
        "{code}: {there} available at {}, {} more needed.",
        site.name,
        slot.missing()
    )
}

/// `3 stubs fit; use them before cutting a new one.`
fn stubs(part: &Checked, rod: &ShortRod) -> Vec<String> {
    let mut says = Vec::new();
    let (fit, longest) = (rod.fit, rod.longest);
    match fit {
        0 => says.push(format!(
            "No stub of {} to {longest} fits under the short back cap; a full rod does not.",
            rod.discard
        )),
        1 => says.push("1 stub fits; use it before cutting a new one.".to_owned()),
        _ => says.push(format!(
            "{fit} stubs fit; use them before cutting a new one."
        )),
    }
    if part.slot.missing() > 0 {
        says.push(cut(part, rod));
    }
    if rod.unmeasured > 0 {
        let noun = if rod.unmeasured == 1 { "stub" } else { "stubs" };
        says.push(format!(
            "{} more {noun} in the jar not measured. Next: measure, and add with the length.",
            rod.unmeasured
        ));
    }
    says
}

/// How many rods would have to be cut.
fn cut(part: &Checked, rod: &ShortRod) -> String {
    let delivered = if let PartSpec::Electrode { length, .. } = &part.spec {
        *length
    } else {
        None
    };
    let rods = kit::rods_to_cut(part.slot.missing(), delivered, rod.longest);
    let noun = if rods == 1 { "rod" } else { "rods" };
    let code = &part.part.code;
    format!(
        "Next: cut {rods} {noun} of {code} to {} or less; {} available.",
        rod.longest, rod.rods
    )
}

/// The discard length, where the site has not said.
pub(super) fn assumed_discard(discard: RodLength, family: BodyFamily) -> String {
    format!(
        "Starting assumption: the collet of a {family} torch grips rods of {discard} or more; set the discard length of the site where you know better."
    )
}
