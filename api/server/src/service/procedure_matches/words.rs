//! A match in plain words: how many are usable, which and why, what is not and why, and the way out.

use domain::part::PartSpec;
use domain::procedure::{Reason, State};
use types::{MatchRow, ProcedureMatch};

use super::candidates::Held;
use crate::service::procedures::{InForce, dated};

/// The whole answer.
pub(super) fn says(answer: &ProcedureMatch, in_force: &InForce, held: &[Held]) -> Vec<String> {
    let mut says = vec![headline(answer, in_force)];
    let whole = |held: &&Held| !held.row.stub && held.row.quantity > 0;
    let accepted = held
        .iter()
        .filter(whole)
        .filter(|it| it.state == State::Matches);
    says.extend(list("Accepted", accepted.map(accepted_as)));
    says.extend(pending(answer));
    let refused = |it: &&Held| it.state == State::DoesNotMatch && it.row.quantity > 0;
    let mut refused: Vec<&Held> = held.iter().filter(refused).collect();
    refused.sort_by_key(|held| rank(held));
    says.extend(list("Not usable", refused.into_iter().map(refused_as)));
    says.extend(stubs(held));
    let below = answer.cannot_tell.iter().map(|part| {
        format!("{part}: its book is below zero, which is impossible. Next: count it, or enter the missing receipt.")
    });
    says.extend(below);
    says.extend(next(answer, in_force));
    if let Some(angle) = answer.tip_angle {
        says.push(format!("Tip: {angle} degrees included."));
    }
    if answer.newest_revision > answer.revision {
        says.push(format!(
            "{} is not the newest revision: that is rev {}.",
            in_force.name(),
            answer.newest_revision
        ));
    }
    says
}

/// `PROC-07 rev 2: 9 usable, need 8, 1 left.`
fn headline(answer: &ProcedureMatch, in_force: &InForce) -> String {
    let name = in_force.name();
    let usable = answer.usable;
    match (answer.need, answer.left) {
        (Some(need), Some(left)) => format!("{name}: {usable} usable, need {need}, {left} left."),
        (Some(need), None) => {
            format!(
                "{name}: {usable} usable, need {need}, {} short.",
                answer.short
            )
        }
        (None, _) => format!("{name}: {usable} usable."),
    }
}

/// `Accepted: 9 x this. 2 x that.`
fn list(word: &str, told: impl Iterator<Item = String>) -> Option<String> {
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("{word}: {}.", told.join(". ")))
}

/// `9 x 3/32 in EWLa-2, lot L-2231 (EQ-1, signed 12 Feb 2026)`.
fn accepted_as(held: &Held) -> String {
    let row = &held.row;
    let lots: Vec<String> = match &row.lots[..] {
        [only] if only.quantity >= row.quantity => vec![only.lot.clone()],
        lots => lots
            .iter()
            .map(|it| format!("{} ({})", it.lot, it.quantity))
            .collect(),
    };
    let lots = match lots.len() {
        0 => String::new(),
        1 => format!(", lot {}", lots[0]),
        _ => format!(", lots {}", lots.join(" and ")),
    };
    let held_back = row.quantity - row.usable;
    let held_back = if held_back > 0 {
        format!("; {held_back} more are held or promised")
    } else {
        String::new()
    };
    let signed = match (&row.equivalence, &row.signed_at) {
        (Some(id), Some(at)) => format!(" ({id}, signed {})", dated(at)),
        _ => String::new(),
    };
    let what = times(row.usable, &row.unit, &marked(held));
    format!("{what}{lots}{signed}{held_back}")
}

/// What is refused for its size first, what nobody can name last.
fn rank(held: &Held) -> u8 {
    match held.reasons.first() {
        Some(Reason::Size { .. }) => 0,
        Some(Reason::Class) => 1,
        Some(Reason::ClassUnknown) => 3,
        _ => 2,
    }
}

/// `6 x 2.5 mm (different size: 2.5 is not 2.4, and it needs its own collet)`.
fn refused_as(held: &Held) -> String {
    let row = &held.row;
    if let [Reason::ClassUnknown] = held.reasons[..]
        && !row.stub
        && !held.is_barred
    {
        return format!("{} unidentified ({})", row.quantity, row.reason);
    }
    let label = if row.stub {
        format!("stub of {}", label(held))
    } else {
        label(held)
    };
    format!(
        "{} ({})",
        times(row.quantity, &row.unit, &label),
        row.reason
    )
}

/// What tells a refused candidate from the permitted ones: the dimensions that are wrong.
fn label(held: &Held) -> String {
    let PartSpec::Electrode {
        class, diameter, ..
    } = &held.spec
    else {
        return held.spec.describe();
    };
    let size = |reason: &Reason| matches!(reason, Reason::Size { .. });
    let class_is_wrong = |reason: &Reason| matches!(reason, Reason::Class);
    if held.row.stub || held.is_barred || held.reasons.is_empty() {
        format!("{diameter} {class}")
    } else if held.reasons.iter().all(size) {
        diameter.to_string()
    } else if held.reasons.iter().all(class_is_wrong) {
        class.to_string()
    } else {
        format!("{diameter} {class}")
    }
}

/// A part as it is marked; else as it is called.
fn marked(held: &Held) -> String {
    if let Some(marking) = &held.row.marking {
        return marking.clone();
    }
    let PartSpec::Electrode {
        class, diameter, ..
    } = &held.spec
    else {
        return held.spec.describe();
    };
    format!("{diameter} {class}")
}

/// `9 x WCe20`, `8400 ml of argon`.
fn times(quantity: i64, unit: &str, what: &str) -> String {
    if unit == "piece" {
        format!("{quantity} x {what}")
    } else {
        format!("{quantity} {unit} of {what}")
    }
}

/// What a signature would change.
fn pending(answer: &ProcedureMatch) -> Vec<String> {
    let names: Vec<&str> = answer.to_sign.iter().map(|it| &*it.equivalence).collect();
    if names.is_empty() {
        return Vec::new();
    }
    let procedure = &answer.procedure;
    let pieces = if answer.pending == 1 {
        "piece"
    } else {
        "pieces"
    };
    let mut says = vec![format!(
        "{} {pieces} would match if the person responsible for {procedure} accepts {}.",
        answer.pending,
        names.join(" and ")
    )];
    says.extend(answer.to_sign.iter().map(|it| {
        let grade = it.grade.as_deref();
        let grade = grade.map_or_else(String::new, |grade| format!(" {grade}"));
        let (name, marking) = (&it.equivalence, &it.marking);
        format!("{name}: {marking} = {} {}{grade}.", it.diameter, it.class)
    }));
    says
}

/// Stubs match by themselves, and are never counted among the rods.
fn stubs(held: &[Held]) -> Option<String> {
    let matching = held.iter().filter(|it| it.row.stub && it.row.usable > 0);
    let told: Vec<String> = matching
        .map(|it| {
            let MatchRow {
                usable, name, lots, ..
            } = &it.row;
            let lot = lots
                .first()
                .map_or_else(String::new, |lot| format!(", lot {}", lot.lot));
            format!("{usable} x {name}{lot}")
        })
        .collect();
    let told = (!told.is_empty()).then(|| told.join(". "));
    told.map(|told| format!("In the stub jar, not counted above: {told}."))
}

/// What to do where there is not enough. There is no way around a procedure.
fn next(answer: &ProcedureMatch, in_force: &InForce) -> Option<String> {
    if answer.short == 0 {
        return None;
    }
    let mut ways = Vec::new();
    if let Some(first) = answer.to_sign.first() {
        ways.push(format!("have {} signed", first.equivalence));
    }
    if !answer.to_order.is_empty() {
        ways.push(format!("order {}", answer.to_order.join(" or ")));
    }
    ways.push(in_force.way_out());
    Some(format!("Next: {}.", ways.join(", or ")))
}
