//! A fit check in plain words: which seat fails, what each side of it is, and what would bridge it.

use domain::fit::ways::{Choice, Way};
use domain::fit::{Carrier, Fault, Fit, Side, State};
use domain::part::{PartKind, PartSpec};
use domain::seat::Joint;
use types::{FitCandidate, FitChoice, FitFault, FitWay};

use super::{Shelf, Shelved};
use crate::service::kit_layout::Fitting;
use crate::service::site_rules;
use crate::store::entity::sites;

/// A state in the words of the contract.
pub(in crate::service) fn state(state: State) -> &'static str {
    match state {
        State::Complete => "complete",
        State::Incomplete => "incomplete",
        State::DoesNotFit => "does not fit",
        State::CannotTell => "cannot tell",
    }
}

/// What an answer takes for granted if it rests on seats that nobody checked.
pub(in crate::service) fn assumed_seats(is_unchecked: bool) -> Vec<String> {
    let says = "Seats as they usually are: check against your torch maker's parts list, and mark them \
                checked.";
    is_unchecked.then(|| says.to_owned()).into_iter().collect()
}

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
    let at = |index: &usize| &shelf.parts[set_up[*index]];
    let carrier = |on: &Carrier| match on {
        Carrier::Torch => (None, format!("the head of {torch}")),
        Carrier::Part(part) => {
            let part = at(part);
            (
                Some(part.row.code.clone()),
                format!("the {}", part.spec.kind().noun()),
            )
        }
    };
    let codes: Vec<String> = parts(fault)
        .iter()
        .map(|part| at(part).row.code.clone())
        .collect();
    let told = |what: &str, joint: Option<Joint>, says: String| FitFault {
        what: what.to_owned(),
        joint: joint.map(|joint| joint.as_str().to_owned()),
        parts: codes.clone(),
        on: None,
        takes: None,
        offered: None,
        says,
    };
    match fault {
        Fault::Vacant { on, offered } => {
            let (on, noun) = carrier(on);
            let joint = offered.seat.joint();
            FitFault {
                on,
                offered: Some(offered.seat.to_string()),
                ..told("missing", Some(joint), vacant(offered, &noun))
            }
        }
        Fault::Mismatch {
            part,
            on,
            takes,
            offered,
        } => {
            let (on, noun) = carrier(on);
            FitFault {
                on,
                takes: Some(takes.seat.to_string()),
                offered: Some(offered.seat.to_string()),
                ..told(
                    "mismatch",
                    Some(takes.seat.joint()),
                    mismatch(at(part), &noun, (takes, offered)),
                )
            }
        }
        Fault::Crowded { joint, parts } => {
            let names: Vec<String> = parts.iter().map(|part| at(part).row.code.clone()).collect();
            let names = names.join(" and ");
            let says = format!("{names} sit on one seat; a torch takes one of them.");
            told("crowded", Some(*joint), says)
        }
        Fault::Loose { part, takes } => FitFault {
            takes: Some(takes.seat.to_string()),
            ..told(
                "loose",
                Some(takes.seat.joint()),
                format!("{} has nothing to sit on.", at(part).spec.describe()),
            )
        },
        Fault::RodTooLong {
            electrode, longest, ..
        } => {
            let name = at(electrode).spec.describe();
            let says = format!(
                "{name} does not go under this back cap: the electrode must be cut to {longest} or less \
                 for this cap."
            );
            told("too long", Some(Joint::Electrode), says)
        }
        Fault::Unknown { part } => {
            let code = &at(part).row.code;
            told(
                "seats unknown",
                at(part).joint(),
                format!("The seats of {code} are not known. Next: add them to the seats."),
            )
        }
        Fault::NotFitted { part } => {
            let part = at(part);
            let noun = part.spec.kind().noun();
            let code = &part.row.code;
            told(
                "not fitted",
                None,
                format!("{code} is a {noun}, which is not fitted in a torch; leave it out."),
            )
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
    let name = match part.spec {
        // Its seat is told at once.
        PartSpec::Cup { number, .. } => format!("cup no. {number}"),
        _ => part.noun(),
    };
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
    if let PartSpec::Cup { number, .. } = part.spec {
        let mm = (number.bore_um() + 500) / 1_000;
        says += &format!(
            " Same number, same orifice ({} in, about {mm} mm), different thread and bore.",
            number.inch()
        );
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

/// What is needed to tell a trial in words.
pub(super) struct Told<'t> {
    pub(super) shelf: &'t Shelf,
    pub(super) set_up: &'t [usize],
    pub(super) tried: &'t [usize],
    pub(super) torch: &'t str,
    pub(super) site: &'t sites::Model,
}

impl Told<'_> {
    /// The whole answer.
    pub(super) fn says(
        &self,
        (fit, fitted): (&Fit, bool),
        faults: &[FitFault],
        ways: &[FitWay],
    ) -> Vec<String> {
        let mut says = self.barred();
        let misfits = fit
            .faults
            .iter()
            .zip(faults)
            .filter(|(fault, _)| fault.is_misfit());
        let misfits: Vec<&FitFault> = misfits.map(|(_, told)| told).collect();
        let missing: Vec<&FitFault> = faults
            .iter()
            .filter(|told| told.what == "missing")
            .collect();
        match (misfits.first(), missing.len()) {
            (Some(first), _) => {
                says.push(format!("Does not fit: {}", first.says));
                says.extend(misfits[1..].iter().map(|told| told.says.clone()));
            }
            (None, 0) if faults.is_empty() => {
                let done = if fitted { "Fitted" } else { "Fits" };
                says.push(format!("{done}: {} is complete.", self.torch));
            }
            (None, 0) => says.extend(faults.iter().map(|told| told.says.clone())),
            (None, 1) => says.push(format!("Incomplete: 1 part missing. {}", missing[0].says)),
            (None, many) => {
                says.push(format!("Incomplete: {many} parts missing."));
                says.extend(missing.iter().map(|told| told.says.clone()));
            }
        }
        says.extend(Self::ways(ways));
        says
    }

    /// What the site, or the procedure of the job, does not permit.
    fn barred(&self) -> Vec<String> {
        let parts = self.set_up.iter().map(|part| &self.shelf.parts[*part]);
        let told = parts.filter_map(|part| {
            let because = part.held_because.as_ref()?;
            let next = if site_rules::of_part(self.site, &part.row).is_permitted() {
                "use a permitted part, or have the procedure revised"
            } else {
                "use a permitted class, or do the work at a site that permits it"
            };
            let code = &part.row.code;
            Some(format!(
                "Not permitted here: {code} is {because}. Next: {next}."
            ))
        });
        told.collect()
    }

    /// `Fits now: ... . Or ... .` The ways that stock makes; what is wanted, if it makes none.
    fn ways(ways: &[FitWay]) -> Vec<String> {
        let in_stock: Vec<&FitWay> = ways.iter().filter(|way| way.in_stock).collect();
        match (in_stock.split_first(), ways.first()) {
            (Some((first, others)), _) => {
                let others = others.iter().map(|way| format!("Or: {}.", way.says));
                std::iter::once(format!("Fits now: {}.", first.says))
                    .chain(others)
                    .collect()
            }
            (None, Some(first)) => vec![format!(
                "Nothing in stock mends it. Wanted: {}.",
                first.says
            )],
            (None, None) => Vec::new(),
        }
    }

    /// One way, as the contract has it.
    pub(super) fn way(&self, way: &Way) -> FitWay {
        let codes = |parts: &[usize]| {
            let code = |part: &usize| self.shelf.parts[*part].row.code.clone();
            parts.iter().map(code).collect()
        };
        let choices: Vec<FitChoice> = way
            .choices
            .iter()
            .map(|choice| self.choice(choice))
            .collect();
        let is_there = |choice: &FitChoice| choice.parts.iter().any(|part| part.available > 0);
        FitWay {
            in_stock: choices.iter().all(is_there),
            keep: codes(&way.keep),
            remove: codes(&way.remove),
            says: self.way_says(way, &choices),
            choices,
        }
    }

    fn choice(&self, choice: &Choice) -> FitChoice {
        let candidate = |part: &usize| {
            let shelved = &self.shelf.parts[*part];
            FitCandidate {
                part: shelved.row.code.clone(),
                name: shelved.spec.describe(),
                available: shelved.available,
            }
        };
        FitChoice {
            seat: choice.wanted.seat.to_string(),
            diameter: choice.wanted.diameter.map(|size| size.to_string()),
            parts: choice.alternatives.iter().map(candidate).collect(),
        }
    }

    /// `collet body 2.4 mm, large body (2) with standard insulator, large body (1), and keep cup-7`.
    fn way_says(&self, way: &Way, choices: &[FitChoice]) -> String {
        let put_in: Vec<String> = way
            .choices
            .iter()
            .zip(choices)
            .map(|(choice, told)| self.choice_says(choice, told))
            .collect();
        let put_in = if put_in.is_empty() {
            "nothing has to be put in".to_owned()
        } else {
            put_in.join(" with ")
        };
        let kept = way.keep.iter().filter(|part| self.tried.contains(part));
        let kept: Vec<String> = kept.map(|part| self.shelf.parts[*part].noun()).collect();
        if kept.is_empty() {
            put_in
        } else {
            format!("{put_in}, and keep {}", kept.join(" and "))
        }
    }

    /// What is there of a choice, or all that would do if nothing is.
    fn choice_says(&self, choice: &Choice, told: &FitChoice) -> String {
        let is_any = told.parts.iter().any(|part| part.available > 0);
        let names = choice
            .alternatives
            .iter()
            .map(|part| &self.shelf.parts[*part]);
        let names = names.filter(|part| part.available > 0 || !is_any);
        let names: Vec<String> = names
            .map(|part| format!("{} ({})", part.noun(), part.available))
            .collect();
        if names.is_empty() {
            let wanted = &choice.wanted;
            let size = wanted
                .diameter
                .map_or_else(String::new, |size| format!(" for {size}"));
            let noun = match wanted.seat.joint() {
                Joint::BackCap => PartKind::BackCap.noun(),
                joint => joint.noun(),
            };
            let at = &self.site.name;
            return format!(
                "{noun} with the {} seat{size} (none is set up at {at})",
                wanted.seat.name()
            );
        }
        names.join(" or ")
    }
}
