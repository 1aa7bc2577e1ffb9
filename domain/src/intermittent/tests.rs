//! Smoothing by hand, and records that no shop has. Records of the outside world are in the suite
//! `reference`.

use proptest::prelude::*;

use super::*;

fn alpha(alpha: f64) -> Smoothing {
    Smoothing::new(alpha).expect("a smoothing constant")
}

#[test]
fn a_smoothing_constant_is_above_0_and_at_most_1() {
    for bad in [0.0, -0.1, 1.000_1, f64::NAN, f64::INFINITY] {
        assert!(Smoothing::new(bad).is_err(), "{bad}");
    }
    assert_eq!(
        Smoothing::new(0.0).expect_err("refused").to_string(),
        "a smoothing constant is above 0 and at most 1, not 0; 0.1 is usual"
    );
    assert!(Smoothing::new(1.0).is_ok());
}

#[test]
fn a_part_that_nobody_uses_any_more_dies_away_in_one_method_and_not_in_the_other() {
    let record = [2.0, 0.0, 0.0, 0.0];
    assert!((croston(&record) - 2.0).abs() < 1e-15);
    // 2 x 0.5^3.
    assert!((tsb(&record, alpha(0.1), alpha(0.5)) - 0.25).abs() < 1e-15);
}

#[test]
fn a_row_whose_errors_are_known_has_the_constant_that_a_parabola_says() {
    // Sizes 1, 2, 2: the errors are 1 and 1 - alpha, least at the upper bound.
    let found = croston_optimised(&[1.0, 2.0, 2.0]).expect("there is use");
    assert!((found.size_alpha - 0.3).abs() < 1e-11);
    // Sizes 1, 2, 1.2: the errors are 1 and 0.2 - alpha, so that alpha is 0.2; the level ends at 1.2.
    let found = croston_optimised(&[1.0, 2.0, 1.2]).expect("there is use");
    assert!((found.size_alpha - 0.2).abs() < 1e-7);
    assert!((found.forecast - 1.2).abs() < 1e-7);
    assert!(croston_optimised(&[0.0, 0.0]).is_none());
}

#[test]
fn what_is_exactly_at_a_cut_belongs_below_it() {
    // 33 periods, 25 of them with use, all the same: an interval of exactly 1.32.
    let mut record = vec![1.0; 25];
    record.resize(33, 0.0);
    let found = pattern(&record).expect("there is use");
    assert_eq!(found.kind, PatternKind::Smooth);
    record.push(0.0);
    let found = pattern(&record).expect("there is use");
    assert_eq!(found.kind, PatternKind::Intermittent);
    assert!(pattern(&[0.0, -1.0, f64::NAN]).is_none());
}

proptest! {
    #[test]
    fn a_whole_record_gives_the_same_as_one_period_at_a_time(
        record in proptest::collection::vec(prop_oneof![Just(0.0), 0.0..9.0], 0..60),
        sizes in 0.01..1.0,
        chances in 0.01..1.0,
    ) {
        let mut state = Tsb::new(alpha(sizes), alpha(chances));
        for figure in &record { state.observe(*figure); }
        let whole = tsb(&record, alpha(sizes), alpha(chances));
        prop_assert!((whole - state.forecast()).abs() <= 1e-13 * whole.abs());
    }

    #[test]
    fn a_smoothed_forecast_is_within_what_was_used(
        record in proptest::collection::vec(0.0..9.0, 1..60),
    ) {
        let most = record.iter().copied().fold(0.0, f64::max);
        for found in [croston(&record), tsb(&record, alpha(0.1), alpha(0.2))] {
            prop_assert!((0.0..=most * (1.0 + 1e-12)).contains(&found), "{found}");
        }
    }

    #[test]
    fn no_record_makes_a_forecast_that_is_not_a_number(
        record in proptest::collection::vec(any::<f64>(), 0..40),
    ) {
        for found in [croston(&record), sba(&record), tsb(&record, alpha(0.3), alpha(1.0))] {
            prop_assert!(found.is_finite() && found >= 0.0, "{found}");
        }
        if let Some(found) = croston_optimised(&record) {
            prop_assert!(found.forecast.is_finite());
        }
        if let Some(found) = pattern(&record) {
            prop_assert!(found.squared_variation.is_finite() && found.interval >= 1.0);
        }
    }
}
