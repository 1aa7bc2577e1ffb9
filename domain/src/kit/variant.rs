//! The ways in which a kit goes together on a torch, when its slots have alternatives: in each of them
//! every seat is mated exactly once.

use std::collections::BTreeMap;

use crate::fit::{self, Fault, Fit, Piece, Side};
use crate::part::PartSpec;
use crate::seat::{self, Seats};
use crate::size::RodLength;

/// One way in which a kit goes together: for each slot the parts of which any will do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variant {
    /// The parts of each slot, in the order of the slots.
    pub slots: Vec<Vec<usize>>,
    /// The longest rod that goes under the cap of this variant, if its rods as delivered are longer.
    pub short_rod: Option<RodLength>,
}

/// Whether a kit goes together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Assembly {
    /// It does, in these ways.
    Fits(Vec<Variant>),
    /// It does not. What is wrong with the first choice of each slot; parts are named by the index of
    /// their slot.
    Fails(Fit),
}

/// More ways than any front end has; those beyond are not tried.
const WAYS_MAX: usize = 4_096;

/// Puts a kit together on the head of a torch, in every way that its alternatives allow.
///
/// A slot is a list of parts, as indices into `pieces`, the first being the first choice. A rod that is
/// too long for the cap is no misfit here: it can be cut, or comes from the stubs.
pub fn assemble(head: &Seats, pieces: &[Piece<'_>], slots: &[Vec<usize>]) -> Assembly {
    let groups: Vec<Vec<Vec<usize>>> = slots.iter().map(|slot| alike(pieces, slot)).collect();
    let mut variants = Vec::new();
    let mut choice = vec![0; slots.len()];
    for _ in 0..WAYS_MAX {
        let chosen: Vec<&Vec<usize>> = groups
            .iter()
            .zip(&choice)
            .filter_map(|(slot, group)| slot.get(*group))
            .collect();
        variants.extend(variant(head, pieces, &chosen));
        if !next(&mut choice, &groups) {
            break;
        }
    }
    if variants.is_empty() {
        let first = slots.iter().filter_map(|slot| slot.first());
        let first: Vec<Piece<'_>> = first.map(|part| pieces[*part]).collect();
        Assembly::Fails(fit::check(head, &first))
    } else {
        Assembly::Fits(variants)
    }
}

/// The next choice of a group for each slot, as a counter counts; false after the last.
fn next(choice: &mut [usize], groups: &[Vec<Vec<usize>>]) -> bool {
    for (group, slot) in choice.iter_mut().zip(groups) {
        *group += 1;
        if *group < slot.len() {
            return true;
        }
        *group = 0;
    }
    false
}

/// The variant of these groups, if they go together.
fn variant(head: &Seats, pieces: &[Piece<'_>], chosen: &[&Vec<usize>]) -> Option<Variant> {
    let whole: Vec<Piece<'_>> = chosen
        .iter()
        .filter_map(|group| group.first())
        .map(|part| pieces[*part])
        .collect();
    let fit = fit::check(head, &whole);
    let too_long = |fault: &Fault| match fault {
        Fault::RodTooLong { longest, .. } => Some(*longest),
        Fault::Vacant { .. }
        | Fault::Mismatch { .. }
        | Fault::Crowded { .. }
        | Fault::Loose { .. }
        | Fault::Unknown { .. }
        | Fault::NotFitted { .. } => None,
    };
    let short_rod = fit.faults.iter().find_map(too_long);
    let is_whole = fit.faults.iter().all(|fault| too_long(fault).is_some());
    is_whole.then(|| Variant {
        slots: chosen.iter().map(|group| (*group).clone()).collect(),
        short_rod,
    })
}

/// What decides whether a part goes where another one does.
type Likeness = (
    Option<Side>,
    Vec<Side>,
    Option<RodLength>,
    Option<RodLength>,
);

/// The parts of a slot in groups that are alike for fit, in the order of their first.
fn alike(pieces: &[Piece<'_>], slot: &[usize]) -> Vec<Vec<usize>> {
    let mut groups: BTreeMap<Likeness, (usize, Vec<usize>)> = BTreeMap::new();
    for (order, part) in slot.iter().enumerate() {
        let group = groups
            .entry(likeness(pieces[*part]))
            .or_insert((order, Vec::new()));
        group.1.push(*part);
    }
    let mut groups: Vec<(usize, Vec<usize>)> = groups.into_values().collect();
    groups.sort_unstable();
    groups.into_iter().map(|(_, parts)| parts).collect()
}

fn likeness(piece: Piece<'_>) -> Likeness {
    let own = seat::diameter(piece.spec);
    let offers = piece.seats.map_or(&[][..], Seats::offers).iter();
    let mut offers: Vec<Side> = offers.map(|offer| Side::offered(offer, own)).collect();
    offers.sort();
    let length = if let PartSpec::Electrode { length, .. } = piece.spec {
        *length
    } else {
        None
    };
    let room = piece.seats.and_then(Seats::longest_rod);
    (Side::taken(piece), offers, room, length)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fit::State;
    use crate::fit::usual::{LARGE, any_part, standard, usual};

    /// The standard set-up, each slot with up to three more parts, some of which go there.
    fn any_kit() -> impl Strategy<Value = (Vec<PartSpec>, Vec<Vec<usize>>)> {
        prop::collection::vec((0_usize..7, any_part()), 0..12).prop_map(|more| {
            let mut specs = standard();
            let mut slots: Vec<Vec<usize>> = (0..specs.len()).map(|slot| vec![slot]).collect();
            for (slot, part) in more {
                slots[slot].insert(0, specs.len());
                specs.push(part);
            }
            (specs, slots)
        })
    }

    fn is_possible(specs: &[PartSpec], slots: &[Vec<usize>]) -> bool {
        let usual = usual();
        let assembly = assemble(usual.head(LARGE), &usual.pieces(specs), slots);
        matches!(assembly, Assembly::Fits(_))
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        #[test]
        fn in_every_way_every_seat_is_mated_once_whichever_part_is_chosen(
            (specs, slots) in any_kit(), pick in any::<prop::sample::Index>(),
        ) {
            let usual = usual();
            let pieces = usual.pieces(&specs);
            let head = usual.head(LARGE);
            let Assembly::Fits(variants) = assemble(head, &pieces, &slots) else {
                return Err(TestCaseError::fail("the standard set-up goes together"));
            };
            for variant in variants {
                let chosen = variant.slots.iter().map(|slot| pieces[*pick.get(slot)]);
                let fit = fit::check(head, &chosen.collect::<Vec<_>>());
                let only_long = fit.faults.iter().all(|f| matches!(f, Fault::RodTooLong { .. }));
                prop_assert!(only_long, "{:?}", fit.faults);
                prop_assert_eq!(variant.short_rod.is_some(), fit.state() != State::Complete);
            }
        }

        #[test]
        fn a_kit_that_goes_together_still_does_with_one_more_alternative(
            (mut specs, mut slots) in any_kit(), first in any_part(), more in any_part(),
            slot in 0_usize..7,
        ) {
            // The first choice of one slot is another part, which may spoil it.
            slots[slot] = vec![specs.len()];
            specs.push(first);
            let before = is_possible(&specs, &slots);
            slots[slot].push(specs.len());
            specs.push(more);
            prop_assert!(!before || is_possible(&specs, &slots));
        }
    }

    #[test]
    fn a_kit_that_leaves_a_seat_open_does_not_go_together() {
        let usual = usual();
        let specs = standard();
        let slots: Vec<Vec<usize>> = (1..7).map(|slot| vec![slot]).collect();
        let assembly = assemble(usual.head(LARGE), &usual.pieces(&specs), &slots);
        let Assembly::Fails(fit) = assembly else {
            panic!("{assembly:?}");
        };
        assert_eq!(fit.state(), State::Incomplete);
    }
}
