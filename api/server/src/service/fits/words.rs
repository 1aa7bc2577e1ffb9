//! A fit check in plain words: which seat fails, what each side of it is, and what would bridge it.

use domain::fit::ways::{Choice, Way};
use domain::fit::{Fit, State};
use types::{FitCandidate, FitChoice, FitFault, FitWay};

use super::{Shelf, Shelved};
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

/// What is needed to tell a trial in words.
pub(super) struct Told<'t> {
    pub(super) shelf: &'t Shelf,
    pub(super) set_up: &'t [usize],
    pub(super) tried: &'t [usize],
    pub(super) torch: &'t str,
    pub(super) site: &'t sites::Model,
    /// Stubs of the jar go under the cap for which the rod is too long.
    pub(super) has_stubs: bool,
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
        let unknown = faults.iter().filter(|told| told.what == "seats unknown");
        let unknown: Vec<String> = unknown.map(|told| told.says.clone()).collect();
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
        let done = if fitted { "Fitted. " } else { "" };
        match (misfits.first(), missing.len()) {
            (Some(first), _) => {
                says.push(format!("Does not fit: {}", first.says));
                says.extend(misfits[1..].iter().map(|told| told.says.clone()));
            }
            (None, 0) if faults.is_empty() => {
                let done = if fitted { "Fitted" } else { "Fits" };
                says.push(format!("{done}: {} is complete.", self.torch));
            }
            // What sits on seats that nobody knows may well be what seems to be missing.
            (None, _) if !unknown.is_empty() => {
                says.push(format!(
                    "{done}Cannot tell whether {} is complete.",
                    self.torch
                ));
                says.extend(unknown);
                return says;
            }
            (None, 0) => says.extend(faults.iter().map(|told| told.says.clone())),
            (None, 1) => {
                says.push(format!(
                    "{done}Incomplete: 1 part missing. {}",
                    missing[0].says
                ));
            }
            (None, many) => {
                says.push(format!("{done}Incomplete: {many} parts missing."));
                says.extend(missing.iter().map(|told| told.says.clone()));
            }
        }
        says.extend(self.ways(ways));
        says
    }

    /// What is new in the torch and not in the drawers.
    pub(super) fn not_in_stock(&self, new: &[usize]) -> Vec<String> {
        let parts = new.iter().map(|part| &self.shelf.parts[*part]);
        let gone = parts.filter(|part| part.available <= 0);
        gone.map(|part| format!("None of {} is available here.", part.row.code))
            .collect()
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

    /// `Fits now in its place: ... . Or ... .` The ways that stock makes; what is wanted, if it makes
    /// none.
    fn ways(&self, ways: &[FitWay]) -> Vec<String> {
        if self.has_stubs {
            return vec!["Fits now: a stub from the jar.".to_owned()];
        }
        let tried: Vec<&String> = self
            .tried
            .iter()
            .map(|part| &self.shelf.parts[*part].row.code)
            .collect();
        let now = |way: &FitWay| {
            let replaced = way.remove.iter().any(|part| tried.contains(&part));
            if replaced {
                "Fits now in its place"
            } else {
                "Fits now"
            }
        };
        let in_stock: Vec<&FitWay> = ways.iter().filter(|way| way.in_stock).collect();
        match (in_stock.split_first(), ways.first()) {
            (Some((first, others)), _) => {
                let others = others.iter().map(|way| format!("Or: {}.", way.says));
                std::iter::once(format!("{}: {}.", now(first), first.says))
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
            let off = way.remove.iter().map(|part| self.shelf.parts[*part].noun());
            format!("take off {}", off.collect::<Vec<_>>().join(" and "))
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
        let names: Vec<&Shelved> = names.collect();
        // Parts of one name are told apart by their codes.
        let alike = |part: &Shelved| names.iter().filter(|it| it.spec == part.spec).count() > 1;
        let names: Vec<String> = names
            .iter()
            .map(|part| {
                let code = if alike(part) {
                    format!("{}, ", part.row.code)
                } else {
                    String::new()
                };
                format!("{code}{} ({})", part.noun(), part.available)
            })
            .collect();
        if names.is_empty() {
            let wanted = &choice.wanted;
            let size = wanted
                .diameter
                .map_or_else(String::new, |size| format!(" for {size}"));
            let noun = wanted.seat.joint().noun();
            let at = &self.site.name;
            return format!(
                "{noun} with the {} seat{size} (none is set up at {at})",
                wanted.seat.name()
            );
        }
        names.join(" or ")
    }
}
