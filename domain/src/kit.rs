//! Whether a kit is complete: each of its parts against what is available, and rods against the back
//! cap they go under. Which parts mate at their seats is a matter of its own and not decided here.

use crate::part::{BodyFamily, CapLength, PartSpec};
use crate::size::RodLength;

pub mod count;

/// The longest electrode under a short back cap: 2 in or less, as a trade journal and common practice
/// have it, in the trade's round metric figure.
const SHORT_CAP_UM: i64 = 50_000;

/// One part of a kit: how many the kit holds, and how many there are to fill it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slot {
    /// How many one kit holds; at least 1.
    pub needed: i64,
    /// How many there are that may be used.
    pub available: i64,
}

impl Slot {
    /// How many more one kit wants.
    pub fn missing(self) -> i64 {
        self.needed.saturating_sub(self.available.max(0)).max(0)
    }

    /// How many kits these would fill.
    fn kits(self) -> i64 {
        self.available.max(0) / self.needed.max(1)
    }
}

/// How many kits the parts make, and which part sets that limit.
///
/// The smallest part stops the job: the count is the least over all slots. Of several that limit it
/// alike, the first is named. A kit without slots makes none and names none.
pub fn count(slots: &[Slot]) -> (i64, Option<usize>) {
    let least = slots
        .iter()
        .enumerate()
        .min_by_key(|(index, slot)| (slot.kits(), *index));
    least.map_or((0, None), |(index, slot)| (slot.kits(), Some(index)))
}

/// The longest rod that goes under a back cap, where the cap sets a limit that is kept to.
///
/// Only the short cap does: a medium one takes about 75 mm (from memory), which nothing published
/// bears out, and a long one takes a full rod.
pub fn longest_under(cap: CapLength) -> Option<RodLength> {
    match cap {
        CapLength::Short => RodLength::from_um(SHORT_CAP_UM).ok(),
        CapLength::Medium | CapLength::Long => None,
    }
}

/// The limit that the back caps of a kit set to its rods.
pub fn longest_rod<'a>(parts: impl IntoIterator<Item = &'a PartSpec>) -> Option<RodLength> {
    let caps = parts.into_iter().filter_map(|part| match part {
        PartSpec::BackCap { length, .. } => longest_under(*length),
        PartSpec::Electrode { .. }
        | PartSpec::Collet { .. }
        | PartSpec::ColletBody { .. }
        | PartSpec::GasLens { .. }
        | PartSpec::Cup { .. }
        | PartSpec::ORing { .. }
        | PartSpec::Insulator { .. }
        | PartSpec::ShieldingGas { .. }
        | PartSpec::FillerRod { .. }
        | PartSpec::TungstenWheel => None,
    });
    caps.min()
}

/// The shortest rod that a collet still grips, where the site has not said: a starting assumption of
/// common practice, about 40 mm in the large body family and 30 mm in the small one.
pub fn discard_length_assumed(family: BodyFamily) -> RodLength {
    let um = match family {
        BodyFamily::Large => 40_000,
        BodyFamily::Small => 30_000,
    };
    // Both lie within the range of a rod.
    RodLength::from_um(um).unwrap_or_else(|_| unreachable!("a constant within the range"))
}

/// Whether a stub of that length can be used: the collet grips it, and it goes under the cap.
pub fn stub_fits(length: RodLength, discard: RodLength, longest: RodLength) -> bool {
    (discard..=longest).contains(&length)
}

/// How many full rods must be cut for that many short ones, each as long as the cap allows. A rod of
/// unknown length is counted on for one piece.
pub fn rods_to_cut(missing: i64, rod: Option<RodLength>, longest: RodLength) -> i64 {
    let pieces = rod.map_or(1, |rod| (rod.um() / longest.um()).max(1));
    let whole = missing.max(0) / pieces;
    whole + i64::from(missing.max(0) % pieces != 0)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn mm(mm: i64) -> RodLength {
        RodLength::from_um(mm * 1_000).expect("a length of a rod")
    }

    fn slots(told: &[(i64, i64)]) -> Vec<Slot> {
        let slot = |&(needed, available)| Slot { needed, available };
        told.iter().map(slot).collect()
    }

    #[test]
    fn the_smallest_part_sets_the_number_of_kits_and_is_named() {
        // Electrode, collet, body, cup, cap, O-ring, insulator of scenario S3.
        let drawer = slots(&[(1, 3), (1, 2), (1, 2), (1, 5), (1, 2), (1, 0), (1, 1)]);
        assert_eq!(count(&drawer), (0, Some(5)));
        assert_eq!(count(&drawer[..5]), (2, Some(1)));
        assert_eq!(count(&[]), (0, None));
    }

    #[test]
    fn a_kit_that_holds_two_of_a_part_needs_both() {
        assert_eq!(count(&slots(&[(2, 5), (1, 9)])), (2, Some(0)));
        assert_eq!(
            Slot {
                needed: 2,
                available: 1
            }
            .missing(),
            1
        );
    }

    #[test]
    fn a_book_below_zero_fills_nothing_and_is_not_missed_twice() {
        let slot = Slot {
            needed: 1,
            available: -4,
        };
        assert_eq!((slot.missing(), slot.kits()), (1, 0));
    }

    #[test]
    fn only_rods_of_fifty_millimetres_or_less_go_under_the_short_cap() {
        let longest = longest_under(CapLength::Short).expect("it sets a limit");
        let fits = |length| stub_fits(mm(length), mm(35), longest);
        assert!(fits(50) && fits(48) && fits(35));
        assert!(!fits(51) && !fits(34) && !fits(150));
        assert_eq!(longest_under(CapLength::Long), None);
    }

    #[test]
    fn three_short_rods_are_cut_from_one_of_150_mm() {
        let longest = mm(50);
        assert_eq!(rods_to_cut(3, Some(mm(150)), longest), 1);
        assert_eq!(rods_to_cut(4, Some(mm(150)), longest), 2);
        assert_eq!(rods_to_cut(2, None, longest), 2);
        assert_eq!(rods_to_cut(0, Some(mm(150)), longest), 0);
    }

    #[test]
    fn the_large_body_family_discards_earlier() {
        let assumed = |family| discard_length_assumed(family);
        assert!(assumed(BodyFamily::Large) > assumed(BodyFamily::Small));
        assert_eq!(assumed(BodyFamily::Large), mm(40));
    }

    proptest! {
        #[test]
        fn as_many_kits_as_are_counted_can_be_filled_and_no_more(
            told in prop::collection::vec((1_i64..5, -3_i64..40), 1..8),
        ) {
            let slots = slots(&told);
            let (kits, _) = count(&slots);
            prop_assert!(slots.iter().all(|slot| slot.needed * kits <= slot.available.max(0)));
            prop_assert!(slots.iter().any(|slot| slot.needed * (kits + 1) > slot.available));
            prop_assert_eq!(kits > 0, slots.iter().all(|slot| slot.missing() == 0));
        }

        #[test]
        fn the_rods_that_are_cut_give_enough_and_one_fewer_would_not(
            missing in 1_i64..60, rod in 10_i64..700,
        ) {
            let longest = mm(50);
            let rods = rods_to_cut(missing, Some(mm(rod)), longest);
            let pieces = (rod / 50).max(1);
            prop_assert!(rods * pieces >= missing && (rods - 1) * pieces < missing);
        }
    }
}
