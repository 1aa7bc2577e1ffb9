//! The faults of a set-up, as the contract has them and in a sentence each.

use domain::fit::{Carrier, Fault, Side};
use domain::part::PartSpec;
use domain::seat::Joint;
use types::FitFault;

use super::{Shelf, Shelved};
use crate::service::kit_layout::Fitting;

/// The parts that a fault means, as indices of the set-up.
pub(super) fn parts(fault: &Fault) -> Vec<usize> {
    match fault {
        Fault::Vacant { .. } => Vec::new(),
        Fault::Crowded { parts, .. } => parts.clone(),
        Fault::RodTooLong { electrode, cap, .. } => vec![*electrode, *cap],
        Fault::Mismatch { part, .. }
        | Fault::Loose { part, .. }
        | Fault::Unknown { part }
        | Fault::NotFitted { part } => vec![*part],
    }
}

/// A fault of a set-up, whose parts are indices of the shelf.
pub(in crate::service) fn fault(
    shelf: &Shelf,
    set_up: &[usize],
    (torch, fault): (&str, &Fault),
) -> FitFault {
    let told = Subject {
        shelf,
        set_up,
        torch,
    };
    let (on, takes, offered) = sides(fault);
    let meant = parts(fault).into_iter();
    FitFault {
        what: what(fault).to_owned(),
        joint: told.joint(fault).map(|joint| joint.as_str().to_owned()),
        parts: meant.map(|part| told.at(part).row.code.clone()).collect(),
        on: on.and_then(|on| told.carrier_code(on)),
        takes: takes.map(|side| side.seat.to_string()),
        offered: offered.map(|side| side.seat.to_string()),
        says: told.says(fault),
    }
}

/// The kind of a fault in the words of the contract.
fn what(fault: &Fault) -> &'static str {
    match fault {
        Fault::Vacant { .. } => "missing",
        Fault::Mismatch { .. } => "mismatch",
        Fault::Crowded { .. } => "crowded",
        Fault::Loose { .. } => "loose",
        Fault::RodTooLong { .. } => "too long",
        Fault::Unknown { .. } => "seats unknown",
        Fault::NotFitted { .. } => "not fitted",
    }
}

/// Who offers the seat of a fault, what is taken, what is offered.
fn sides(fault: &Fault) -> (Option<Carrier>, Option<&Side>, Option<&Side>) {
    match fault {
        Fault::Vacant { on, offered } => (Some(*on), None, Some(offered)),
        Fault::Mismatch {
            on, takes, offered, ..
        } => (Some(*on), Some(takes), Some(offered)),
        Fault::Loose { takes, .. } => (None, Some(takes), None),
        Fault::Crowded { .. }
        | Fault::RodTooLong { .. }
        | Fault::Unknown { .. }
        | Fault::NotFitted { .. } => (None, None, None),
    }
}

/// A set-up on a torch.
struct Subject<'s> {
    shelf: &'s Shelf,
    set_up: &'s [usize],
    torch: &'s str,
}

impl Subject<'_> {
    fn at(&self, part: usize) -> &Shelved {
        &self.shelf.parts[self.set_up[part]]
    }

    fn joint(&self, fault: &Fault) -> Option<Joint> {
        match fault {
            Fault::Vacant { offered, .. } => Some(offered.seat.joint()),
            Fault::Mismatch { takes, .. } | Fault::Loose { takes, .. } => Some(takes.seat.joint()),
            Fault::Crowded { joint, .. } => Some(*joint),
            Fault::RodTooLong { .. } => Some(Joint::Electrode),
            Fault::Unknown { part } => self.at(*part).joint(),
            Fault::NotFitted { .. } => None,
        }
    }

    fn carrier_code(&self, on: Carrier) -> Option<String> {
        match on {
            Carrier::Torch => None,
            Carrier::Part(part) => Some(self.at(part).row.code.clone()),
        }
    }

    fn carrier(&self, on: Carrier) -> String {
        match on {
            Carrier::Torch => format!("the head of {}", self.torch),
            Carrier::Part(part) => format!("the {}", self.at(part).spec.kind().noun()),
        }
    }

    fn says(&self, fault: &Fault) -> String {
        match fault {
            Fault::Vacant { on, offered } => vacant(offered, &self.carrier(*on)),
            Fault::Mismatch {
                part,
                on,
                takes,
                offered,
            } => mismatch(self.at(*part), &self.carrier(*on), (takes, offered)),
            Fault::Crowded { parts, .. } => {
                let names = parts.iter().map(|part| self.at(*part).row.code.clone());
                let names: Vec<String> = names.collect();
                format!(
                    "{} sit on one seat; a torch takes one of them.",
                    names.join(" and ")
                )
            }
            Fault::Loose { part, .. } => {
                format!("{} has nothing to sit on.", self.at(*part).spec.describe())
            }
            Fault::RodTooLong {
                electrode, longest, ..
            } => format!(
                "{} does not go under this back cap: the electrode must be cut to {longest} or less for \
                 this cap.",
                self.at(*electrode).spec.describe()
            ),
            Fault::Unknown { part } => {
                let code = &self.at(*part).row.code;
                format!("The seats of {code} are not known. Next: add them to the seats.")
            }
            Fault::NotFitted { part } => {
                let part = self.at(*part);
                let (code, noun) = (&part.row.code, part.spec.kind().noun());
                format!("{code} is a {noun}, which is not fitted in a torch; leave it out.")
            }
        }
    }
}

/// `The back-cap O-ring is missing. Do not weld without it: air is drawn in at the cap.`
fn vacant(offered: &Side, carrier: &str) -> String {
    let joint = offered.seat.joint();
    let diameter = offered
        .diameter
        .map_or_else(String::new, |size| format!(" for {size}"));
    let wanted = format!(
        "{carrier} takes one with the {} seat{diameter}",
        offered.seat.name()
    );
    let without = joint
        .without()
        .map_or_else(String::new, |without| format!(" {without}"));
    format!("The {} is missing; {wanted}.{without}", joint.noun())
}

/// ` 3 stubs of 46-50 mm are in the stub jar.`
pub(super) fn stubs(fitting: Fitting) -> String {
    let Some((shortest, longest)) = fitting.lengths.filter(|_| fitting.fit > 0) else {
        return String::new();
    };
    let mm = |um: i64| (um + 500) / 1_000;
    let lengths = if mm(shortest) == mm(longest) {
        format!("{} mm", mm(longest))
    } else {
        format!("{}-{} mm", mm(shortest), mm(longest))
    };
    match fitting.fit {
        1 => format!(" 1 stub of {lengths} is in the stub jar."),
        fit => format!(" {fit} stubs of {lengths} are in the stub jar."),
    }
}

fn mismatch(part: &Shelved, carrier: &str, (takes, offered): (&Side, &Side)) -> String {
    let cup = if let PartSpec::Cup { number, .. } = part.spec {
        Some(number)
    } else {
        None
    };
    // The seat of a cup is told at once, and not with its name.
    let name = cup.map_or_else(|| part.noun(), |number| format!("cup no. {number}"));
    let name = format!("{name} ({} in stock)", part.available);
    if takes.seat == offered.seat
        && let (Some(own), Some(wanted)) = (takes.diameter, offered.diameter)
    {
        return format!(
            "{name} is {own}; {carrier} takes {wanted}: {} is not {}.",
            own.mm(),
            wanted.mm()
        );
    }
    let (own, wanted) = told_apart(takes.seat.name(), offered.seat.name());
    let mut says = format!("{name} has the {own} seat; {carrier} needs the {wanted} seat.");
    if let Some(number) = cup {
        let mm = (number.bore_um() + 500) / 1_000;
        let inch = number.inch();
        says += " Same number, same orifice (";
        says += &[
            inch,
            format!(" in, about {mm} mm), different thread and bore."),
        ]
        .concat();
    }
    says
}

/// Two names without the words with which both begin: what tells them apart.
fn told_apart<'n>(one: &'n str, other: &'n str) -> (&'n str, &'n str) {
    match (one.split_once(' '), other.split_once(' ')) {
        (Some((first, rest)), Some((same, others))) if first == same && rest != others => {
            told_apart(rest, others)
        }
        _ => (one, other),
    }
}
