//! Scenario S7, accidents that must not be taken for mis-bookings, and the spreading of use.

use proptest::prelude::*;

use super::{MisBooking, Receipt, Variance, mis_bookings, spread};

fn variance(part: char, amount: i64) -> Variance<char> {
    Variance { part, amount }
}

fn receipt(part: char, quantity: i64) -> Receipt<char, u8> {
    Receipt {
        receipt: 0,
        part,
        quantity,
    }
}

#[test]
fn the_receipt_of_scenario_s7_is_found() {
    // Collet: 7 counted, book -2. Collet body: 3 counted, book 13. Ten came for the body.
    let found = mis_bookings(
        &[variance('c', 9), variance('b', -10)],
        &[receipt('b', 10), receipt('c', 5)],
    );
    let expected = MisBooking {
        receipt: 0,
        quantity: 10,
        from: variance('b', -10),
        to: variance('c', 9),
    };
    assert_eq!(found, vec![expected]);
    assert_eq!(found[0].residue(), 1);
}

#[test]
fn nothing_is_found_where_the_figures_do_not_pair() {
    let none: Vec<MisBooking<char, u8>> = Vec::new();
    // Both are missing.
    assert_eq!(
        mis_bookings(
            &[variance('c', -9), variance('b', -10)],
            &[receipt('b', 10)]
        ),
        none
    );
    // The receipt belongs to the part of which more were found.
    assert_eq!(
        mis_bookings(
            &[variance('c', 10), variance('b', -10)],
            &[receipt('c', 10)]
        ),
        none
    );
    // The differences are far from what came.
    assert_eq!(
        mis_bookings(&[variance('c', 4), variance('b', -10)], &[receipt('b', 10)]),
        none
    );
    // One piece is missing somewhere too often.
    assert_eq!(
        mis_bookings(&[variance('c', 1), variance('b', -1)], &[receipt('b', 1)]),
        none
    );
}

#[test]
fn a_part_is_in_one_suspicion_only_and_the_closest_wins() {
    let variances = [variance('c', 9), variance('d', 10), variance('b', -10)];
    let found = mis_bookings(&variances, &[receipt('b', 10)]);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].to, variance('d', 10));
}

#[test]
fn use_is_spread_in_whole_pieces() {
    // Five over 60 h and 40 h: 3 and 2. Two over three equal shares: the first two get them.
    assert_eq!(spread(5, &[60.0, 40.0]), [3, 2]);
    assert_eq!(spread(2, &[1.0, 1.0, 1.0]), [1, 1, 0]);
    assert_eq!(spread(4, &[0.0, 0.0]), [4, 0]);
    assert!(spread(4, &[]).is_empty());
}

proptest! {
    #[test]
    fn spreading_gives_out_every_piece(
        pieces in 0_u32..10_000,
        weights in prop::collection::vec(0.0_f64..1e6, 1..6),
    ) {
        let shares = spread(pieces, &weights);
        prop_assert_eq!(shares.iter().sum::<u32>(), pieces);
        let total: f64 = weights.iter().sum();
        for (share, weight) in shares.iter().zip(&weights) {
            if total > 0.0 {
                let exact = f64::from(pieces) * weight / total;
                prop_assert!((f64::from(*share) - exact).abs() <= 1.0);
            }
        }
    }

    /// A parcel booked to the wrong part of two that were right before is always found.
    #[test]
    fn a_wrongly_booked_parcel_is_found(parcel in 2_i64..200, unlogged in 0_i64..2) {
        let found = mis_bookings(
            &[variance('c', parcel - unlogged), variance('b', -parcel)],
            &[receipt('b', parcel)],
        );
        prop_assert_eq!(found.len(), 1);
        prop_assert_eq!((found[0].from.part, found[0].to.part), ('b', 'c'));
    }

    /// Use that was not logged takes pieces away; without a part of which too many are found, there
    /// is nothing to move.
    #[test]
    fn missing_pieces_alone_move_nothing(
        missing in prop::collection::vec(1_i64..50, 1..8),
        quantity in 1_i64..50,
    ) {
        let variances: Vec<Variance<usize>> = missing
            .iter()
            .enumerate()
            .map(|(part, amount)| Variance { part, amount: -amount })
            .collect();
        let receipts: Vec<Receipt<usize, u8>> = (0..missing.len())
            .map(|part| Receipt { receipt: 0, part, quantity })
            .collect();
        prop_assert!(mis_bookings(&variances, &receipts).is_empty());
    }
}
