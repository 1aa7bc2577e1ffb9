//! The kit check in plain words: complete, or the one part or seat that stops it, and what to do.

use chrono::{DateTime, Utc};
use domain::fit::Fault;
use domain::kit;
use domain::part::PartSpec;
use domain::seat::Joint;
use types::{FitFault, KitPurchase};

use super::remedy::Remedy;
use super::{Bench, COMPLETE, Checked, NOT_PERMITTED};
use crate::service::fits;
use crate::service::instant;

/// More parts of the kind that do not fit are not worth a sentence.
const LOOK_ALIKES_MAX: usize = 3;

/// The whole answer.
pub(super) fn says(
    bench: &Bench,
    checked: &[Checked],
    (state, count, limit): (&str, i64, Option<usize>),
    faults: &[FitFault],
) -> Vec<String> {
    let mut says = vec![headline(bench, checked, (state, count, limit), faults)];
    let misfits = bench
        .faults()
        .iter()
        .zip(faults)
        .filter(|(fault, _)| fault.is_misfit());
    says.extend(misfits.skip(1).map(|(_, told)| told.says.clone()));
    says.extend(
        faults
            .iter()
            .filter(|told| told.what == "missing")
            .map(|told| told.says.clone()),
    );
    says.extend(checked.iter().filter_map(|slot| barred(bench, slot)));
    let may_miss = checked.iter().filter(|slot| slot.held_because.is_none());
    for slot in may_miss {
        match &slot.stubs {
            Some(_) => says.extend(stubs(bench, slot)),
            None if slot.missing() > 0 => says.extend(missing(bench, slot)),
            None => {}
        }
    }
    says
}

fn name(bench: &Bench, part: usize) -> String {
    bench.shelf.parts[part].spec.describe()
}

/// `Incomplete: 1 part missing. O-ring, back cap, large body.`
fn headline(
    bench: &Bench,
    checked: &[Checked],
    (state, count, limit): (&str, i64, Option<usize>),
    faults: &[FitFault],
) -> String {
    let missing = checked.iter().filter(|slot| slot.missing() > 0);
    let names: Vec<String> = missing.map(|slot| name(bench, slot.part)).collect();
    if state == NOT_PERMITTED {
        let barred = checked.iter().filter(|slot| slot.held_because.is_some());
        let barred: Vec<String> = barred.map(|slot| name(bench, slot.part)).collect();
        return format!("Not permitted here: {}.", barred.join("; "));
    }
    if state == COMPLETE {
        let kits = if count == 1 { "kit" } else { "kits" };
        let limit = limit.map(|part| format!(" Limited by: {}.", name(bench, part)));
        return format!("Complete: {count} {kits}.{}", limit.unwrap_or_default());
    }
    let misfit = bench.faults().iter().position(Fault::is_misfit);
    if let Some(first) = misfit {
        return format!("Does not fit: {}", faults[first].says);
    }
    let gaps = faults
        .iter()
        .filter(|fault| fault.what == "missing")
        .count();
    match (names.len(), gaps) {
        (0, 0) => faults.first().map_or_else(
            || "Incomplete: slots share parts, and there are too few for all.".to_owned(),
            |fault| fault.says.clone(),
        ),
        (0, 1) => "Incomplete: the kit leaves 1 seat open.".to_owned(),
        (0, gaps) => format!("Incomplete: the kit leaves {gaps} seats open."),
        (1, _) => format!("Incomplete: 1 part missing. {}.", names.join("")),
        (many, _) => format!("Incomplete: {many} parts missing. {}.", names.join("; ")),
    }
}

fn barred(bench: &Bench, slot: &Checked) -> Option<String> {
    let because = slot.held_because.as_ref()?;
    let code = &bench.shelf.parts[slot.part].row.code;
    Some(format!(
        "{code} is {because}. Next: use a permitted class, or do the work at a site that permits it."
    ))
}

/// What there is of a part that is missing, what it means, and what mends it.
fn missing(bench: &Bench, slot: &Checked) -> Vec<String> {
    let part = &bench.shelf.parts[slot.part];
    let (code, there) = (&part.row.code, slot.available.max(0));
    let place = slot.remedy.drawers.as_ref();
    let place = place.map_or_else(|| "available".to_owned(), |drawers| format!("in {drawers}"));
    let mut says = Vec::new();
    let joint = part.joint();
    says.extend(joint.and_then(Joint::without).map(str::to_owned));
    says.push(format!(
        "{code}: {there} {place} at {}, {} more needed.",
        bench.site.name,
        slot.missing()
    ));
    says.extend(look_alikes(bench, slot));
    says.extend(lenders(bench, &slot.remedy));
    says.push(next(code, slot.remedy.next.as_ref()));
    says
}

/// `The standard insulator, large body (1 in stock) does not seat on the gas lens.` Parts of the same
/// kind that are there and have another seat.
fn look_alikes(bench: &Bench, slot: &Checked) -> Vec<String> {
    let wanted = &bench.shelf.parts[slot.part];
    let seat = |part: &fits::Shelved| {
        let seats = part.seats.as_ref();
        seats.and_then(|(seats, _)| seats.takes().cloned())
    };
    let others = bench.shelf.parts.iter().filter(|other| {
        other.spec.kind() == wanted.spec.kind()
            && other.available > 0
            && other.held_because.is_none()
            && seat(other).is_some()
            && seat(other) != seat(wanted)
    });
    let carrier = seat(wanted).and_then(|seat| carrier(bench, seat.joint()));
    let carrier = carrier.unwrap_or_else(|| format!("the head of {}", bench.torch.code));
    let say = |other: &fits::Shelved| {
        format!(
            "The {} ({} in stock) does not seat on {carrier}.",
            other.noun(),
            other.available
        )
    };
    others.take(LOOK_ALIKES_MAX).map(say).collect()
}

/// The part of the kit that offers a joint.
fn carrier(bench: &Bench, joint: Joint) -> Option<String> {
    let offers = |part: &&usize| {
        let seats = bench.shelf.parts[**part].seats.as_ref();
        seats.is_some_and(|(seats, _)| {
            seats
                .offers()
                .iter()
                .any(|offer| offer.seat.joint() == joint)
        })
    };
    let parts = bench.first_choices();
    let part = parts.iter().find(offers)?;
    Some(format!(
        "the {}",
        bench.shelf.parts[*part].spec.kind().noun()
    ))
}

/// `One is fitted in the idle torch T4 (not used since 3 Jun): borrow it, and put it back.`
fn lenders<'l>(bench: &'l Bench, remedy: &'l Remedy) -> impl Iterator<Item = String> + 'l {
    let zone = instant::site_zone(&bench.site.zone);
    let used = move |at: &Option<DateTime<Utc>>| {
        at.map_or_else(
            || "never used".to_owned(),
            |at| {
                format!(
                    "not used since {}",
                    at.with_timezone(&zone).format("%-d %b")
                )
            },
        )
    };
    remedy.lenders.iter().map(move |(torch, at)| {
        format!(
            "One is fitted in the idle torch {torch} ({}): borrow it, and the put-back is noted.",
            used(at)
        )
    })
}

/// `Next: quayhead, 1 pack of 10, Tue 16 Jun.`
fn next(code: &str, purchase: Option<&KitPurchase>) -> String {
    let Some(purchase) = purchase else {
        return format!("Next: nobody offers {code}; add an offer of a supplier.");
    };
    let packs = match (purchase.packs, purchase.pack_size) {
        (packs, 1) => packs.to_string(),
        (1, size) => format!("1 pack of {size}"),
        (packs, size) => format!("{packs} packs of {size}"),
    };
    let arrives = purchase.arrives.format("%a %-d %b");
    format!("Next: {}, {packs}, arrives {arrives}.", purchase.supplier)
}

/// `3 stubs fit; use them before cutting a new one.`
fn stubs(bench: &Bench, slot: &Checked) -> Vec<String> {
    let (Some(told), Some(longest)) = (slot.stubs, bench.layout.short_rod()) else {
        return Vec::new();
    };
    let discard = bench.stubs.shortest(bench.family);
    let mut says = Vec::new();
    match told.fit {
        0 => says.push(format!(
            "No stub of {discard} to {longest} is in the jar, and a full rod does not go under the short back cap."
        )),
        1 => says.push("1 stub fits; use it before cutting a new one.".to_owned()),
        fit => says.push(format!(
            "{fit} stubs fit; use them before cutting a new one."
        )),
    }
    if slot.missing() > 0 {
        let part = &bench.shelf.parts[slot.part];
        let delivered = if let PartSpec::Electrode { length, .. } = &part.spec {
            *length
        } else {
            None
        };
        let rods = kit::rods_to_cut(slot.missing(), delivered, longest);
        let noun = if rods == 1 { "rod" } else { "rods" };
        let (code, there) = (&part.row.code, part.available);
        says.push(if there < rods {
            format!("{rods} {noun} of {code} would have to be cut to {longest} or less; {there} available.")
        } else {
            format!("Next: cut {rods} {noun} of {code} to {longest} or less; {there} available.")
        });
    }
    if told.unmeasured > 0 {
        let noun = if told.unmeasured == 1 {
            "stub"
        } else {
            "stubs"
        };
        says.push(format!(
            "{} more {noun} in the jar not measured. Next: measure, and add with the length.",
            told.unmeasured
        ));
    }
    says
}

/// What the answer takes for granted.
pub(super) fn assumes(bench: &Bench, checked: &[Checked]) -> Vec<String> {
    let mut assumes = fits::assumed_seats(
        bench
            .shelf
            .is_unchecked(bench.family, &bench.first_choices()),
    );
    let asks_stubs = checked.iter().any(|slot| slot.stubs.is_some());
    if asks_stubs && bench.site.discard_um.is_none() {
        assumes.push(format!(
            "Starting assumption: the collet of a {} torch grips rods of {} or more; set the discard \
             length of the site where you know better.",
            bench.family,
            bench.stubs.shortest(bench.family)
        ));
    }
    assumes
}
