//! Tables against closed forms and enumeration by hand. Sums of the outside world are in the suite
//! `reference`.

use super::*;

fn uses(size: f64, q_over_p: f64) -> NegativeBinomial {
    NegativeBinomial::new(size, 1.0, q_over_p).expect("a predictive")
}

#[test]
fn sizes_of_the_same_rate_add_up() {
    // Two predictives with one p are one whose sizes add up: Johnson, Kemp and Kotz, chapter 5.
    let sum = CountTable::of(&uses(1.5, 2.0))
        .and_then(|left| left.plus(&CountTable::of(&uses(2.25, 2.0))?))
        .expect("a table");
    let whole = uses(3.75, 2.0);
    for k in [0, 1, 7, 20, 60] {
        assert!((sum.pmf(k) / whole.pmf(k) - 1.0).abs() < 1e-12, "{k}");
        let missing = 2.0 * CountTable::TAIL;
        assert!(
            (sum.sf(k) - whole.sf(k)).abs() < 1e-12 * whole.sf(k) + missing,
            "{k}"
        );
    }
    assert!((sum.mean() - 7.5).abs() < 1e-11);
    assert!((sum.variance() - 22.5).abs() < 1e-9);
    for p in [0.0, 0.05, 0.5, 0.95, 0.999, 1.0] {
        assert_eq!(sum.quantile(p), whole.quantile(p), "{p}");
    }
}

#[test]
fn clumps_of_one_are_the_events_themselves_and_clumps_of_two_are_twice_as_many() {
    let events = uses(0.7, 3.0);
    let single = CountTable::in_clumps(&events, &[1.0]).expect("a table");
    let double = CountTable::in_clumps(&events, &[0.0, 1.0]).expect("a table");
    for k in 0..40 {
        assert!((single.pmf(k) / events.pmf(k) - 1.0).abs() < 1e-12, "{k}");
        assert!(
            (double.pmf(2 * k) / events.pmf(k) - 1.0).abs() < 1e-12,
            "{k}"
        );
        assert_eq!(double.pmf(2 * k + 1).to_bits(), 0, "{k}");
    }
}

#[test]
fn what_makes_no_table_is_refused() {
    assert_eq!(CountTable::poisson(-1.0), Err(TableError::Mean(-1.0)));
    assert!(CountTable::poisson(f64::NAN).is_err());
    assert!(matches!(
        CountTable::poisson(1e6),
        Err(TableError::TooLong(_))
    ));
    assert!(matches!(
        CountTable::of(&uses(0.01, 1e6)),
        Err(TableError::TooLong(_))
    ));
    for bad in [&[0.5, 0.4][..], &[-0.5, 1.5], &[]] {
        assert!(CountTable::in_clumps(&uses(1.0, 1.0), bad).is_err());
    }
}

#[test]
fn nothing_changes_no_sum() {
    let table = CountTable::poisson(4.2).expect("a table");
    let sum = table.plus(&CountTable::nothing()).expect("a table");
    assert_eq!(sum.quantile(0.95), table.quantile(0.95));
    assert!((sum.cdf(4) - table.cdf(4)).abs() < 1e-16);
    assert_eq!(CountTable::nothing().quantile(0.999), 0);
    assert!((CountTable::poisson(0.0).expect("a table").pmf(0) - 1.0).abs() < 1e-16);
}

#[test]
fn the_table_of_a_mixture_weighs_its_tables() {
    let (slow, fast) = (uses(1.5, 2.0), uses(3.0, 4.0));
    let mixture = Mixture::new([(0.25, slow), (0.75, fast)]).expect("a mixture");
    let table = CountTable::mixed(&mixture).expect("a table");
    for k in [0, 1, 5, 20] {
        let expected = 0.25 * slow.pmf(k) + 0.75 * fast.pmf(k);
        assert!((table.pmf(k) - expected).abs() < 1e-14, "{k}");
    }
    assert!((table.mean() - (0.25 * 3.0 + 0.75 * 12.0)).abs() < 1e-9);
}
