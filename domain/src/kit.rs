//! Kits: how many of them stock makes ([`count`]), in which ways one goes together ([`variant`]), and the
//! rods that go under a short back cap.

use crate::part::BodyFamily;
use crate::size::RodLength;

pub mod count;
pub mod variant;

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

    #[test]
    fn a_stub_fits_between_what_the_collet_grips_and_what_the_cap_takes() {
        let fits = |length| stub_fits(mm(length), mm(35), mm(50));
        assert!(fits(50) && fits(48) && fits(35));
        assert!(!fits(51) && !fits(34) && !fits(150));
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
