//! Needs, reorder points and run-out dates with the figures of the scenarios, and what must hold
//! for any. The figures were computed outside, by direct summation.

use proptest::prelude::*;

use super::*;

fn uses(shape: f64, rate: f64, exposure: f64) -> NegativeBinomial {
    NegativeBinomial::new(shape, rate, exposure).expect("a predictive")
}

fn wear(shape: f64, rate: f64) -> Gamma {
    Gamma::new(shape, rate).expect("a wear rate")
}

fn date(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).expect("a date")
}

/// Asserts the mean to the digits given and the need at 95 %.
fn assert_forecast(uses: &NegativeBinomial, mean: f64, half_digit: f64, expected: u64) {
    assert!((uses.mean() - mean).abs() <= half_digit, "{}", uses.mean());
    assert_eq!(need(uses, Target::DEFAULT), expected, "mean {mean}");
}

#[test]
fn before_a_big_job_each_part_has_its_mean_and_its_need() {
    // Scenario S5: assumption, pieces used in 410 arc hours; 34 arc hours to come.
    let parts = [
        (2.0, 20.0, 58, 4.744, 9),
        (0.5, 50.0, 7, 0.554, 2),
        (1.0, 30.0, 19, 1.545, 4),
        (0.5, 50.0, 3, 0.259, 1),
        (0.5, 100.0, 2, 0.167, 1),
    ];
    for (shape, rate, events, mean, expected) in parts {
        let known = wear(shape, rate)
            .posterior(events, 410.0)
            .expect("a posterior");
        let uses = known.predictive(34.0).expect("a predictive");
        assert_forecast(&uses, mean, 5e-4, expected);
    }
}

#[test]
fn of_thirteen_electrodes_four_to_twelve_are_left_after_the_job() {
    // Scenario S5: 3 there and a pack of 10.
    let uses = uses(60.0, 430.0, 34.0);
    assert_eq!(13 - uses.quantile(0.95), 4);
    assert_eq!(13 - uses.quantile(0.5), 8);
    assert_eq!(13 - uses.quantile(0.05), 12);
}

#[test]
fn a_new_part_needs_one_spare_more_only_because_it_is_unknown() {
    // Scenario S10: the same assumption with three years of data, none, and 20 hours without use.
    let assumed = wear(1.0, 40.0);
    let rows = [
        (9, 410.0, 0.756, 2),
        (0, 0.0, 0.850, 3),
        (0, 20.0, 0.567, 2),
    ];
    for (events, exposure, mean, expected) in rows {
        let known = assumed.posterior(events, exposure).expect("a posterior");
        assert_forecast(
            &known.predictive(34.0).expect("a predictive"),
            mean,
            5e-4,
            expected,
        );
    }
}

#[test]
fn a_course_of_beginners_has_its_needs_by_student_days() {
    // Scenario S11: 24 student-days after 36 of past courses on assumptions of 3.
    let parts = [
        (2.0, 31, 20.308, 30),
        (1.0, 14, 9.231, 16),
        (0.5, 5, 3.385, 8),
        (0.5, 2, 1.538, 5),
        (0.5, 4, 2.769, 7),
        (0.5, 1, 0.923, 3),
    ];
    for (shape, events, mean, expected) in parts {
        let known = wear(shape, 3.0)
            .posterior(events, 36.0)
            .expect("a posterior");
        assert_forecast(
            &known.predictive(24.0).expect("a predictive"),
            mean,
            5e-4,
            expected,
        );
    }
}

#[test]
fn a_job_over_the_year_end_needs_six_and_two_would_hardly_last() {
    // Scenario S6: 20 arc hours; 12 and 16 of them before the parcel is unpacked.
    assert_forecast(&uses(60.0, 430.0, 20.0), 2.791, 5e-4, 6);
    assert!((uses(60.0, 430.0, 12.0).cdf(2) - 0.762_811_016_796_917).abs() < 1e-12);
    assert!((uses(60.0, 430.0, 16.0).cdf(2) - 0.62).abs() < 0.005);
}

#[test]
fn forecasts_per_grind_and_per_week_have_their_needs() {
    // 58 electrodes in 1180 grinds, 100 to come; 58 in 156 weeks, 8 to come.
    let by_grinds = wear(2.0, 40.0).posterior(58, 1180.0).expect("a posterior");
    assert_forecast(
        &by_grinds.predictive(100.0).expect("a predictive"),
        4.918,
        5e-4,
        9,
    );
    let by_weeks = wear(1.0, 4.0).posterior(58, 156.0).expect("a posterior");
    assert_forecast(
        &by_weeks.predictive(8.0).expect("a predictive"),
        2.950,
        5e-4,
        6,
    );
}

#[test]
fn the_order_point_is_the_first_count_that_covers_lead_time_and_review() {
    // Scenario X1: two weeks of 6 arc hours.
    let uses = uses(26.0, 220.0, 12.0);
    assert_eq!(reorder_point(&uses, Target::DEFAULT), 4);
    assert!((uses.cdf(4) - 0.9821).abs() < 5e-5);
    assert!((uses.cdf(3) - 0.939_402_411_320_284_8).abs() < 1e-12);
}

#[test]
fn run_out_dates_span_from_early_to_late() {
    // Scenario X1: 5 on hand on Monday 15 June 2026 at 6 arc hours a week.
    let found = run_out(&wear(26.0, 220.0), 5, 6.0 / 7.0, date(2026, 6, 15));
    let expected = RunOut {
        early: Some(date(2026, 7, 3)),
        median: Some(date(2026, 7, 31)),
        late: Some(date(2026, 9, 22)),
    };
    assert_eq!(found, expected);
}

#[test]
fn a_run_out_of_one_piece_has_its_closed_form() {
    // Gamma(1, b) and one piece: P(gone by t) = t / (b + t), so the points are b/19, b and 19 b:
    // for b = 10.5 half a day, 10.5 days and 199.5 days.
    let found = run_out(&wear(1.0, 10.5), 1, 1.0, date(2026, 1, 1));
    let expected = RunOut {
        early: Some(date(2026, 1, 1)),
        median: Some(date(2026, 1, 11)),
        late: Some(date(2026, 7, 19)),
    };
    assert_eq!(found, expected);
}

#[test]
fn nothing_on_hand_has_run_out_and_no_pace_never_does() {
    let (rate, start) = (wear(26.0, 220.0), date(2026, 6, 15));
    for on_hand in [0, -2, i64::MIN] {
        let found = run_out(&rate, on_hand, 1.0, start);
        assert_eq!(
            found,
            RunOut {
                early: Some(start),
                median: Some(start),
                late: Some(start)
            }
        );
    }
    let never = RunOut {
        early: None,
        median: None,
        late: None,
    };
    for pace in [0.0, -1.0, f64::NAN] {
        assert_eq!(run_out(&rate, 5, pace, start), never);
    }
    assert_eq!(run_out(&rate, i64::MAX, 1.0, start), never);
    assert_eq!(run_out(&rate, 5, f64::INFINITY, start).late, Some(start));
}

#[test]
fn beyond_ten_years_there_is_no_date() {
    // One in 30 000 hours at an hour a day: early within the horizon, the rest beyond.
    let found = run_out(&wear(1.0, 30_000.0), 1, 1.0, date(2026, 1, 1));
    assert!(found.early.is_some());
    assert_eq!((found.median, found.late), (None, None));
}

#[test]
fn a_target_is_neither_a_coin_toss_nor_a_certainty() {
    for bad in [0.499_99, 1.0, 0.99995, -1.0, f64::NAN] {
        assert!(Target::new(bad).is_err(), "{bad}");
    }
    assert!(Target::new(0.5).is_ok() && Target::new(0.9999).is_ok());
}

proptest! {
    #[test]
    fn a_need_never_falls_with_exposure_or_target(
        shape in 0.1..60.0_f64,
        rate in 1.0..500.0_f64,
        exposures in (0.0..500.0_f64, 0.0..500.0_f64),
        targets in (0.5..=0.9999_f64, 0.5..=0.9999_f64),
    ) {
        let sorted = |(a, b): (f64, f64)| if a <= b { (a, b) } else { (b, a) };
        let (less, more) = sorted(exposures);
        let (low, high) = sorted(targets);
        let need_of = |exposure, target| {
            need(&uses(shape, rate, exposure), Target::new(target).expect("a target"))
        };
        prop_assert!(need_of(less, low) <= need_of(more, low));
        prop_assert!(need_of(less, low) <= need_of(less, high));
    }

    #[test]
    fn more_stock_runs_out_later_and_a_faster_pace_sooner(
        shape in 0.1..60.0_f64,
        rate in 1.0..500.0_f64,
        on_hand in 0_i64..30,
        pace in 0.1..10.0_f64,
    ) {
        let (known, start) = (wear(shape, rate), date(2026, 6, 15));
        // No date is later than any date.
        let days = |out: RunOut| {
            [out.early, out.median, out.late].map(|point| point.unwrap_or(NaiveDate::MAX))
        };
        let now = days(run_out(&known, on_hand, pace, start));
        let with_more = days(run_out(&known, on_hand + 1, pace, start));
        let with_faster = days(run_out(&known, on_hand, pace * 2.0, start));
        prop_assert!(now.is_sorted());
        for point in 0..3 {
            prop_assert!(with_more[point] >= now[point]);
            prop_assert!(with_faster[point] <= now[point]);
        }
    }
}
