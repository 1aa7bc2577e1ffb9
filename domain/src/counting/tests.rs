//! The chances against sums that can be redone by hand, and the order in which drawers are counted.

use super::*;

fn rates(losses: (f64, f64), gains: (f64, f64)) -> ErrorRates {
    let gamma = |(shape, rate)| Gamma::new(shape, rate).expect("a rate");
    ErrorRates {
        losses: gamma(losses),
        gains: gamma(gains),
    }
}

/// With Gamma(1, 1) over one occasion both are geometric, P(k) = 2^-(k+1), P(X >= n) = 2^-n, so that
/// P(X - Y >= d) = sum of 2^-(y+1) 2^-(d+y) = 2^-(d+1) * 4/3.
#[test]
fn the_chance_is_the_sum_of_the_formula() {
    let rates = rates((1.0, 1.0), (1.0, 1.0));
    for (margin, chance) in [
        (1, 1.0 / 3.0),
        (2, 1.0 / 6.0),
        (4, 1.0 / 24.0),
        // At the order point one piece more changes nothing to "enough"; it takes a gain of one.
        (0, 1.0 / 3.0),
        (-1, 1.0 / 6.0),
    ] {
        let told = rates.chance_of_change(margin, 1.0).expect("a chance");
        assert!((told - chance).abs() < 1e-8, "{margin}: {told}");
    }
}

#[test]
fn a_fresh_count_cannot_be_changed_by_another() {
    let rates = ErrorRates::assumed();
    for margin in [-3, 0, 1, 5] {
        let told = rates.chance_of_change(margin, 0.0).expect("a chance");
        assert!(told.abs() < 1e-12, "{margin}: {told}");
    }
}

#[test]
fn more_occasions_and_a_smaller_margin_make_a_change_likelier() {
    let rates = ErrorRates::assumed();
    let chance = |margin, occasions| rates.chance_of_change(margin, occasions).expect("a chance");
    assert!(chance(1, 10.0) > chance(2, 10.0));
    assert!(chance(3, 20.0) > chance(3, 10.0));
    // More is lost than found, so a book that is just enough is in doubt before one that is just not.
    assert!(chance(1, 10.0) > chance(0, 10.0));
    assert!(chance(i64::MIN, 10.0) < 1e-9 && chance(i64::MAX, 10.0) < 1e-9);
    assert!(rates.chance_of_change(1, f64::NAN).is_err());
}

#[test]
fn rates_are_learned_from_what_counts_found() {
    let past = [
        Interval {
            movements: 30,
            weeks: 10.0,
            variance: -2,
        },
        Interval {
            movements: 15,
            weeks: 5.0,
            variance: 0,
        },
        Interval {
            movements: 0,
            weeks: 20.0,
            variance: 1,
        },
    ];
    let learned = ErrorRates::assumed().learned(&past).expect("rates");
    // 0.5 + 2 missing over 20 + 80 occasions; 0.25 + 1 too many over 25 + 80.
    assert!((learned.losses.mean() - 2.5 / 100.0).abs() < 1e-12);
    assert!((learned.gains.mean() - 1.25 / 105.0).abs() < 1e-12);
    assert_eq!(
        ErrorRates::assumed().learned(&[]),
        Ok(ErrorRates::assumed())
    );
}

#[test]
fn a_parcel_on_the_wrong_part_does_not_pass_for_a_habit() {
    let interval = |movements, weeks, variance| Interval {
        movements,
        weeks,
        variance,
    };
    // Ten missing over twelve occasions may be missed entries; over three, three of them may be.
    assert_eq!(interval(4, 8.0, -10).pieces(), (10, 0));
    assert_eq!(interval(1, 1.2, -10).pieces(), (3, 0));
    assert_eq!(interval(0, 0.1, 899).pieces(), (0, 1));
    assert_eq!(interval(0, 0.0, i64::MIN).pieces(), (0, 0));
}

#[test]
fn a_book_below_zero_comes_first_and_age_decides_between_equals() {
    let of = |below_zero, never_counted, chance, weeks| Worth {
        below_zero,
        never_counted,
        chance,
        weeks,
    };
    let in_order = [
        of(1, 0, 0.0, 1.0),
        of(0, 1, 0.0, 0.0),
        of(0, 0, 0.3, 2.0),
        of(0, 0, 0.2, 9.0),
        of(0, 0, 0.2, 2.0),
        Worth::NOTHING,
    ];
    for pair in in_order.windows(2) {
        assert_eq!(pair[0].urgency(&pair[1]), Ordering::Less, "{pair:?}");
    }
    let both = of(0, 1, 0.5, 2.0).and(of(1, 0, 0.2, 3.0));
    // 1 - 0.5 * 0.8.
    assert_eq!((both.below_zero, both.never_counted), (1, 1));
    assert!((both.chance - 0.6).abs() < 1e-12 && (both.weeks - 3.0).abs() < 1e-12);
}
