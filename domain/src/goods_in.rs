//! What came, held against what was ordered: how many, and whether it is another part. Which order
//! it came for, and what is booked, is elsewhere.

use crate::part::PartSpec;
use crate::size::RodLength;

#[cfg(test)]
mod tests;

/// How a part that came is not the one that was ordered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Mismatch {
    /// The same kind of part with another diameter, number or length.
    Size(String),
    /// Another part altogether, or one that differs in more than its size.
    Part(String),
}

/// How many came, against how many were still to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Amount {
    /// As many as were to come.
    Exact,
    /// Fewer: so many are still to come.
    Short(i64),
    /// More: so many beyond the order.
    Over(i64),
}

/// Compares a delivered quantity with what was still to come.
///
/// ```
/// use tigstock_domain::goods_in::{Amount, amount};
/// assert_eq!(amount(10, 6), Amount::Short(4));
/// assert_eq!(amount(10, 12), Amount::Over(2));
/// assert_eq!(amount(10, 10), Amount::Exact);
/// ```
pub fn amount(to_come: i64, came: i64) -> Amount {
    match to_come.saturating_sub(came) {
        0 => Amount::Exact,
        left if left > 0 => Amount::Short(left),
        left => Amount::Over(left.saturating_neg()),
    }
}

/// What is wrong with a part that came for another, in words that a receiver can check with the
/// thing in hand; none if the two are interchangeable.
pub fn mismatch(ordered: &PartSpec, came: &PartSpec) -> Option<Mismatch> {
    if ordered == came {
        return None;
    }
    if ordered.kind() != came.kind() {
        let (ordered, came) = (ordered.kind().noun(), came.kind().noun());
        return Some(Mismatch::Part(format!("{came} is not {ordered}")));
    }
    let (size, rest) = (size(ordered, came), rest(ordered, came));
    let said: Vec<String> = rest.iter().chain(&size).cloned().collect();
    if rest.is_empty() && !size.is_empty() {
        Some(Mismatch::Size(said.join("; ")))
    } else {
        Some(Mismatch::Part(said.join("; ")))
    }
}

/// Notes `came is not ordered` if the two words differ.
fn differ(notes: &mut Vec<String>, ordered: &str, came: &str, consequence: &str) {
    if ordered != came {
        notes.push(format!("{came} is not {ordered}{consequence}"));
    }
}

/// What differs in diameter, number or length between two parts of a kind.
fn size(ordered: &PartSpec, came: &PartSpec) -> Vec<String> {
    use PartSpec as P;
    let mut notes = Vec::new();
    match (ordered, came) {
        (
            P::Electrode {
                diameter: a,
                length: long,
                ..
            },
            P::Electrode {
                diameter: b,
                length: other,
                ..
            },
        ) => {
            differ(&mut notes, a.mm(), b.mm(), ", and it needs its own collet");
            rod_lengths(&mut notes, *long, *other);
        }
        (
            P::Collet {
                diameter: a,
                length: long,
                ..
            },
            P::Collet {
                diameter: b,
                length: other,
                ..
            },
        ) => {
            differ(
                &mut notes,
                a.mm(),
                b.mm(),
                ", and it grips its own electrode only",
            );
            let other = format!("{} length", other.as_str());
            differ(&mut notes, &format!("{} length", long.as_str()), &other, "");
        }
        (P::ColletBody { diameter: a, .. }, P::ColletBody { diameter: b, .. })
        | (P::GasLens { diameter: a, .. }, P::GasLens { diameter: b, .. }) => {
            differ(
                &mut notes,
                a.mm(),
                b.mm(),
                ", and it takes its own collet only",
            );
        }
        (P::Cup { number: a, .. }, P::Cup { number: b, .. }) => {
            differ(&mut notes, &format!("no. {a}"), &format!("no. {b}"), "");
        }
        (P::BackCap { length: a, .. }, P::BackCap { length: b, .. }) => {
            differ(
                &mut notes,
                a.as_str(),
                b.as_str(),
                ", and it takes another length of electrode",
            );
        }
        (P::FillerRod { diameter: a, .. }, P::FillerRod { diameter: b, .. }) => {
            differ(&mut notes, a.mm(), b.mm(), "");
        }
        _ => {}
    }
    notes
}

/// Notes two lengths of electrodes that differ; a length may not matter to the shop.
fn rod_lengths(notes: &mut Vec<String>, ordered: Option<RodLength>, came: Option<RodLength>) {
    match (ordered, came) {
        (Some(ordered), Some(came)) => {
            differ(
                notes,
                &format!("{ordered} long"),
                &format!("{came} long"),
                "",
            );
        }
        (Some(ordered), None) => {
            notes.push(format!(
                "{ordered} long was ordered, its length is not told"
            ));
        }
        (None, Some(came)) => notes.push(format!("{came} long came, no length was ordered")),
        (None, None) => {}
    }
}

/// What differs beside the size between two parts of a kind.
fn rest(ordered: &PartSpec, came: &PartSpec) -> Vec<String> {
    let mut notes = Vec::new();
    let (a, b) = (Rest::of(ordered), Rest::of(came));
    for (ordered, came, consequence) in [
        (&a.class, &b.class, ""),
        (&a.seat, &b.seat, ": another thread and bore"),
        (&a.arrangement, &b.arrangement, ": the seats differ"),
        (&a.family, &b.family, ""),
        (&a.composition, &b.composition, ""),
    ] {
        differ(&mut notes, ordered, came, consequence);
    }
    notes
}

/// The fields of a part beside its size, in words; empty where it has none.
#[derive(Debug, Default)]
struct Rest {
    class: String,
    seat: String,
    arrangement: String,
    family: String,
    composition: String,
}

impl Rest {
    fn of(spec: &PartSpec) -> Self {
        let mut rest = Self::default();
        match spec {
            PartSpec::Electrode { class, .. } => rest.class = class.to_string(),
            PartSpec::Collet { family, .. }
            | PartSpec::BackCap { family, .. }
            | PartSpec::ORing { family } => rest.family = family.to_string(),
            PartSpec::Cup { seat, family, .. } => {
                rest.seat = format!("{} seat", seat.as_str());
                rest.family = family.to_string();
            }
            PartSpec::ColletBody {
                arrangement,
                family,
                ..
            }
            | PartSpec::GasLens {
                arrangement,
                family,
                ..
            }
            | PartSpec::Insulator {
                arrangement,
                family,
            } => {
                rest.arrangement = format!("{} arrangement", arrangement.as_str());
                rest.family = family.to_string();
            }
            PartSpec::ShieldingGas { mixture } => rest.composition.clone_from(mixture),
            PartSpec::FillerRod { classification, .. } => {
                rest.composition.clone_from(classification);
            }
            PartSpec::TungstenWheel => {}
        }
        rest
    }
}
