//! Small cases against exhaustive search, and what must hold of every count.

use proptest::prelude::*;

use super::*;

fn kind(slots: &[(i64, &[usize])], wanted: Option<i64>) -> Kind {
    let slot = |&(quantity, alternatives): &(i64, &[usize])| Slot {
        quantity,
        alternatives: alternatives.to_vec(),
    };
    Kind {
        ways: vec![slots.iter().map(slot).collect()],
        wanted,
    }
}

/// Whether stock makes exactly these kits, by trying every way to fill every slot.
fn can_make(stock: &mut Vec<i64>, kinds: &[Kind], counts: &[i64]) -> bool {
    let slots = kinds.iter().zip(counts);
    let demands: Vec<(i64, &[usize])> = slots
        .flat_map(|(kind, count)| {
            kind.ways[0]
                .iter()
                .map(move |slot| (slot.quantity * count, &slot.alternatives[..]))
        })
        .collect();
    fill(stock, &demands)
}

fn fill(stock: &mut Vec<i64>, demands: &[(i64, &[usize])]) -> bool {
    match demands {
        [] => true,
        [(0, _), rest @ ..] => fill(stock, rest),
        [(_, []), ..] => false,
        [(needed, alternatives), rest @ ..] => {
            let (part, others) = (alternatives[0], &alternatives[1..]);
            let most = stock[part].max(0).min(*needed);
            (0..=most).any(|taken| {
                stock[part] -= taken;
                let mut left = vec![(needed - taken, others)];
                left.extend_from_slice(rest);
                let done = fill(stock, &left);
                stock[part] += taken;
                done
            })
        }
    }
}

#[test]
fn a_part_that_serves_two_slots_is_used_once() {
    // Three pieces that do for either of two slots, and one more for the second.
    let kit = kind(&[(1, &[0]), (1, &[0, 1])], None);
    assert_eq!(alone(&[3, 1], &kit), Ok(2));
    assert_eq!(alone(&[3, 9], &kit), Ok(3));
}

#[test]
fn pieces_of_several_alternatives_are_mixed_within_one_kit() {
    let kit = kind(&[(4, &[0, 1])], None);
    assert_eq!(alone(&[3, 2], &kit), Ok(1));
}

#[test]
fn the_part_that_limits_is_what_has_to_be_added() {
    // Scenario S3: the O-ring is missing, and two collets would be the next limit.
    let kit = kind(
        &[
            (1, &[0]),
            (1, &[1]),
            (1, &[2]),
            (1, &[3]),
            (1, &[4]),
            (1, &[5]),
            (1, &[6]),
        ],
        None,
    );
    let stock = [3, 2, 2, 5, 2, 0, 1];
    assert_eq!(alone(&stock, &kit), Ok(0));
    let kinds = std::slice::from_ref(&kit);
    assert_eq!(fewest_more(&stock, kinds, &[1]), Ok(vec![(5, 1)]));
    assert_eq!(fewest_more(&stock, kinds, &[2]), Ok(vec![(5, 2), (6, 1)]));
}

#[test]
fn kits_that_go_together_in_two_ways_are_counted_over_both() {
    // A body with its insulator, or a lens with its own; one cup for either.
    let slot = |parts: &[usize]| Slot {
        quantity: 1,
        alternatives: parts.to_vec(),
    };
    let kit = |wanted| Kind {
        ways: vec![
            vec![slot(&[0]), slot(&[1]), slot(&[4])],
            vec![slot(&[2]), slot(&[3]), slot(&[4])],
        ],
        wanted,
    };
    assert_eq!(alone(&[2, 1, 1, 3, 9], &kit(None)), Ok(2));
    assert_eq!(alone(&[2, 1, 1, 3, 1], &kit(None)), Ok(1));
    let capped = together(&[5, 5, 5, 5, 9], &[kit(Some(3))]).unwrap();
    assert_eq!(capped.kits, [3]);
    assert_eq!(
        fewest_more(&[0, 1, 1, 0, 0], &[kit(None)], &[1]).map(|more| more.len()),
        Ok(2)
    );
}

#[test]
fn empty_kits_and_slots_are_refused() {
    assert_eq!(alone(&[1], &kind(&[], None)), Err(CountError::NoSlots));
    assert_eq!(
        alone(&[1], &kind(&[(1, &[])], None)),
        Err(CountError::EmptySlot)
    );
    assert_eq!(
        together(&[1], &[kind(&[(0, &[0])], None)]),
        Err(CountError::EmptySlot)
    );
}

fn any_kinds() -> impl Strategy<Value = Vec<Kind>> {
    let alternatives = prop::collection::btree_set(0_usize..4, 1..4);
    let slot = (1_i64..3, alternatives).prop_map(|(quantity, alternatives)| Slot {
        quantity,
        alternatives: alternatives.into_iter().collect(),
    });
    let kind = (
        prop::collection::vec(slot, 1..4),
        prop::option::of(0_i64..4),
    );
    let kind = kind.prop_map(|(slots, wanted)| Kind {
        ways: vec![slots],
        wanted,
    });
    prop::collection::vec(kind, 1..4)
}

/// All numbers of kits up to what is wanted, as far as seven of each.
fn all_counts(kinds: &[Kind]) -> Vec<Vec<i64>> {
    kinds.iter().fold(vec![Vec::new()], |all, kind| {
        let most = kind.wanted.unwrap_or(7).min(7);
        let more = |counts: &Vec<i64>| {
            let counts = counts.clone();
            (0..=most).map(move |count| counts.iter().copied().chain([count]).collect())
        };
        all.iter().flat_map(more).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn exhaustive_search_makes_as_many_and_no_more(
        kinds in any_kinds(), stock in prop::collection::vec(-1_i64..7, 4),
    ) {
        let mut left = stock.clone();
        let possible: Vec<Vec<i64>> = all_counts(&kinds)
            .into_iter()
            .filter(|counts| can_make(&mut left, &kinds, counts))
            .collect();
        let total = |counts: &Vec<i64>| counts.iter().sum::<i64>();
        let most = possible.iter().map(total).max().unwrap();
        let found = together(&stock, &kinds).unwrap();
        prop_assert!(found.is_proven);
        prop_assert!(can_make(&mut left, &kinds, &found.kits), "{found:?}");
        // Seven of a kind are beyond what four parts of at most six make, but for slots that share none.
        let within = found.kits.iter().all(|kits| *kits <= 7);
        prop_assert!(!within || total(&found.kits) == most, "{found:?} against {most}");
        let first = in_order(&stock, &kinds).unwrap();
        let greatest = possible.iter().max().unwrap();
        let within = first.iter().all(|kits| *kits <= 7);
        prop_assert!(!within || &first == greatest, "{first:?} against {greatest:?}");
    }

    #[test]
    fn what_has_to_be_added_is_enough_and_one_piece_less_is_not(
        kinds in any_kinds(),
        stock in prop::collection::vec(0_i64..5, 4),
        counts in prop::collection::vec(0_i64..3, 3),
    ) {
        let counts = &counts[..kinds.len()];
        let more = fewest_more(&stock, &kinds, counts).unwrap();
        let mut with = stock.clone();
        for (part, pieces) in &more {
            with[*part] += pieces;
        }
        prop_assert!(can_make(&mut with, &kinds, counts), "{more:?}");
        for (part, _) in &more {
            with[*part] -= 1;
            prop_assert!(!can_make(&mut with, &kinds, counts), "{more:?} less one of {part}");
            with[*part] += 1;
        }
    }

    #[test]
    fn one_more_piece_never_makes_fewer_kits(
        kinds in any_kinds(), stock in prop::collection::vec(0_i64..9, 4), part in 0_usize..4,
    ) {
        let before = together(&stock, &kinds).unwrap();
        let mut stock = stock;
        stock[part] += 1;
        let after = together(&stock, &kinds).unwrap();
        let total = |counts: &Counts| counts.kits.iter().sum::<i64>();
        prop_assert!(total(&after) >= total(&before));
    }
}
