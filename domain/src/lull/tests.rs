//! Lulls against a day-by-day reading of them, and the refusals.

use chrono::Days;
use proptest::prelude::*;

use super::*;

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

fn lull(first: &str, last: &str, share: f64) -> Lull {
    let share = Share::new(share).expect("a share");
    Lull::new(day(first), day(last), share).expect("a lull")
}

#[test]
fn a_share_is_from_shut_to_five_times_the_usual() {
    for share in [0.0, 0.5, 1.0, 5.0] {
        assert_eq!(Share::new(share).map(Share::get), Ok(share));
    }
    for share in [-0.01, 5.01, f64::NAN, f64::INFINITY] {
        let error = Share::new(share).unwrap_err().to_string();
        assert!(error.contains(&format!("not {share}; give")), "{error}");
    }
    assert!(Share::new(-0.0).unwrap().get().is_sign_positive());
}

#[test]
fn a_lull_lasts_from_one_day_to_a_leap_year() {
    let usual = Share::USUAL;
    let of = |first, last| Lull::new(day(first), day(last), usual);
    assert!(of("2026-12-24", "2026-12-24").is_ok());
    // 2028 is a leap year: its last day is the 366th.
    assert!(of("2028-01-01", "2028-12-31").is_ok());
    let long = of("2028-01-01", "2029-01-01").unwrap_err();
    let (first, last) = (day("2028-01-01"), day("2029-01-01"));
    assert_eq!(
        long,
        LullError::TooLong {
            first,
            last,
            days: 367
        }
    );
    let (first, last) = (day("2026-12-24"), day("2026-12-23"));
    let reversed = of("2026-12-24", "2026-12-23").unwrap_err();
    assert_eq!(reversed, LullError::Reversed { first, last });
}

#[test]
fn a_day_is_of_a_year_with_four_digits() {
    for (first, last, wrong) in [
        ("1969-12-31", "1970-01-01", "1969-12-31"),
        ("9999-12-31", "+10000-01-01", "+10000-01-01"),
    ] {
        let error = Lull::new(day(first), day(last), Share::USUAL).unwrap_err();
        assert_eq!(error, LullError::Day(day(wrong)));
    }
    assert!(Lull::new(day("1970-01-01"), day("1970-01-01"), Share::USUAL).is_ok());
    assert!(Lull::new(day("9999-12-31"), day("9999-12-31"), Share::USUAL).is_ok());
}

#[test]
fn two_lulls_overlap_if_they_share_a_day() {
    let middle = lull("2026-07-10", "2026-07-20", 0.0);
    for (first, last, overlaps) in [
        ("2026-07-01", "2026-07-09", false),
        ("2026-07-01", "2026-07-10", true),
        ("2026-07-12", "2026-07-13", true),
        ("2026-07-01", "2026-07-31", true),
        ("2026-07-20", "2026-07-31", true),
        ("2026-07-21", "2026-07-31", false),
    ] {
        let other = lull(first, last, 0.5);
        assert_eq!(middle.overlaps(&other), overlaps, "{first} {last}");
        assert_eq!(other.overlaps(&middle), overlaps, "{first} {last}");
    }
}

#[test]
fn a_lull_counts_only_where_it_meets_the_days_asked_for() {
    let lulls = [
        lull("2026-06-29", "2026-07-02", 0.5),
        lull("2026-07-04", "2026-07-04", 2.0),
        lull("2026-07-06", "2026-08-02", 0.0),
        lull("2025-07-01", "2025-07-31", 0.25),
        lull("2027-07-01", "2027-07-31", 0.25),
    ];
    // Wednesday 1 July to Tuesday 7 July 2026, read off the list above by hand.
    let expected = [0.5, 0.5, 1.0, 2.0, 1.0, 0.0, 0.0];
    assert_eq!(shares(&lulls, day("2026-07-01"), 7), expected);
    assert!(shares(&lulls, day("2026-07-01"), 0).is_empty());
    assert_eq!(shares(&[], day("2026-07-01"), 2), [1.0, 1.0]);
    assert_eq!(shares(&lulls, NaiveDate::MAX, 2), [1.0, 1.0]);
    assert_eq!(shares(&lulls, NaiveDate::MIN, 2), [1.0, 1.0]);
}

proptest! {
    #[test]
    fn each_day_has_the_share_of_the_lull_it_lies_in(
        stretches in prop::collection::vec((0_u64..20, 1_u64..15, 0_u32..=20), 0..6),
        from in 0_u64..120,
        days in 0_u32..120,
    ) {
        // One lull after the other, with a gap of so many days before each.
        let start = day("2026-01-01");
        let mut next = start;
        let mut lulls = Vec::new();
        for (gap, length, quarters) in stretches {
            let first = next + Days::new(gap);
            let last = first + Days::new(length - 1);
            let share = Share::new(f64::from(quarters) / 4.0).unwrap();
            lulls.push(Lull::new(first, last, share).unwrap());
            next = last + Days::new(1);
        }
        let from = start + Days::new(from);
        let found = shares(&lulls, from, days);
        let expected: Vec<f64> = from
            .iter_days()
            .take(found.len())
            .map(|day| {
                let within = lulls.iter().find(|lull| (lull.first()..=lull.last()).contains(&day));
                within.map_or(1.0, |lull| lull.share().get())
            })
            .collect();
        prop_assert_eq!(found.len(), days as usize);
        prop_assert_eq!(found, expected);
    }
}
