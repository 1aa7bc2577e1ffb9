//! Track records by hand, of forecasts that are right by construction, and of wrong ones, which must be told.

use super::*;
use crate::dice::Dice;

fn gamma(shape: f64, rate: f64) -> Gamma {
    Gamma::new(shape, rate).expect("a wear rate")
}

fn even(used: &[u64]) -> Vec<Period> {
    let period = |used: &u64| Period {
        exposure: 1.0,
        used: *used,
    };
    used.iter().map(period).collect()
}

/// A forecaster that always says the same.
#[derive(Clone, Copy)]
struct Fixed(NegativeBinomial);

impl Forecaster for Fixed {
    type Law = NegativeBinomial;

    fn ahead(&self, _: u32, _: f64) -> Result<NegativeBinomial, TrackRecordError> {
        Ok(self.0)
    }

    fn observe(&mut self, _: &Period) -> Result<(), TrackRecordError> {
        Ok(())
    }
}

/// P(K = k) = 0.5^(k+1): negative binomial of size 1 with p = 1/2.
fn halves() -> Fixed {
    Fixed(NegativeBinomial::new(1.0, 1.0, 1.0).expect("a predictive"))
}

#[test]
fn a_score_can_be_redone_on_paper() {
    // After one period, 0 and 2 are judged. F(0) = 1/2, F(1) = 3/4, F(2) = 7/8; quantiles 0, 3 and 4.
    let score = judge(&even(&[9, 0, 2]), halves(), Plan { ahead: 1, first: 1 }).expect("a score");
    assert_eq!(score.forecasts, 2);
    let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-12, "{found}");
    // 0 steps over 0 to 1/2: half of it is in 0.25 to 0.75; 2 steps over 3/4 to 7/8, outside.
    close(score.ranges[0].held, 0.25);
    // In whole pieces the range is 0 to 1.
    close(score.ranges[0].in_whole_pieces, 0.5);
    // 0.1 to 0.9: four fifths, and all. 0.05 to 0.95: nine tenths, and all.
    close(score.ranges[1].held, 0.9);
    close(score.ranges[2].held, 0.95);
    close(score.ranges[2].in_whole_pieces, 1.0);
    // 0.05 to 0.95 cuts the step of 0 (share 0.9) and that of 4, from 15/16 to 31/32 (share 0.4): the shares
    // vary by 0.9 x 0.1 less 1/2 x 0.9 x 0.1 and 1/32 x 0.4 x 0.6. Two of them, so over the root of 2.
    let varies = 0.09 - 0.5 * 0.09 - 0.24 / 32.0;
    close(score.ranges[2].error, (varies / 2.0_f64).sqrt());
    // A fifth in each of five columns; two fifths of 1/8 up to 0.8, the rest up to 0.875.
    let columns = [0.1, 0.1, 0.1, 0.1, 0.1, 0.0, 0.0, 0.2, 0.3, 0.0];
    for (found, expected) in score.calibration.into_iter().zip(columns) {
        close(found, expected);
    }
    // Median 0: 0 and 0.5 x 2. At 0.9, 3: 0.1 x 3 and 0.1 x 1. At 0.95, 4: 0.05 x 4 and 0.05 x 2.
    close(score.pinball[0], 0.5);
    close(score.pinball[1], 0.2);
    close(score.pinball[2], 0.15);
}

#[test]
fn forecasts_that_are_right_hold_as_often_as_they_promise() {
    let mut dice = Dice::new(3);
    let draws = (0..4_000).map(|_| {
        let level = dice.gamma(1.0);
        dice.poisson(level)
    });
    let used: Vec<u64> = draws.collect();
    let score = judge(&even(&used), halves(), Plan::USUAL).expect("a score");
    for range in score.ranges {
        assert!(
            (range.held - range.promised).abs() < 4.0 * range.error,
            "{range:?}"
        );
        assert!(range.in_whole_pieces > range.promised, "{range:?}");
        assert!(range.error < 0.01, "{range:?}");
    }
    assert!(
        score
            .calibration
            .iter()
            .all(|share| (share - 0.1).abs() < 0.02)
    );
    assert!((score.calibration.iter().sum::<f64>() - 1.0).abs() < 1e-9);
}

#[test]
fn forecasts_that_are_too_sure_or_too_low_are_told() {
    // Three times as much is used as forecast, and not more evenly.
    let mut dice = Dice::new(4);
    let draws = (0..500).map(|_| {
        let level = 3.0 * dice.gamma(1.0);
        dice.poisson(level)
    });
    let used: Vec<u64> = draws.collect();
    let score = judge(&even(&used), halves(), Plan::USUAL).expect("a score");
    assert!(score.ranges[2].held < 0.8, "{:?}", score.ranges[2]);
    assert!(score.calibration[9] > 0.25, "{:?}", score.calibration);
}

/// The share of 90 % ranges that held, over a few records of three years of weeks.
fn held(record: impl Fn(u32, &mut Dice) -> u64) -> f64 {
    let mut sum = 0.0;
    for seed in 0..12 {
        let mut dice = Dice::new(100 + seed);
        let used: Vec<u64> = (0..156).map(|week| record(week, &mut dice)).collect();
        let part = ByCalendar::new(gamma(0.5, 2.0));
        let score = judge(&even(&used), part, Plan::USUAL).expect("a score");
        sum += score.ranges[2].held / 12.0;
    }
    sum
}

#[test]
fn parts_without_exposure_are_forecast_as_often_as_promised_however_they_are_used() {
    // 1 728 forecasts each, so that the standard error is below one in a hundred.
    let steady = held(|_, dice| dice.poisson(0.6));
    let clumped = held(|_, dice| 3 * dice.poisson(0.3));
    let uneven = held(|_, dice| {
        let level = 2.0 * dice.gamma(2.0) / 2.0;
        dice.poisson(level)
    });
    let changing = held(|week, dice| dice.poisson(if week < 70 { 0.3 } else { 1.5 }));
    for share in [steady, clumped, uneven, changing] {
        assert!(
            (share - 0.9).abs() < 0.03,
            "{steady} {clumped} {uneven} {changing}"
        );
    }
}

#[test]
fn a_forecast_knows_the_exposure_to_come_and_nothing_else() {
    // 10 pieces in 10 hours, then 20 hours: Gamma(11, 11) over 20, and what was used cannot change it.
    let history = |last| {
        vec![
            Period {
                exposure: 10.0,
                used: 10,
            },
            Period {
                exposure: 20.0,
                used: last,
            },
        ]
    };
    let plan = Plan { ahead: 1, first: 1 };
    let expected = gamma(11.0, 11.0).predictive(20.0).expect("a predictive");
    for last in [0, 20, 70] {
        let score = judge(&history(last), ByExposure::new(gamma(1.0, 1.0)), plan);
        let score = score.expect("a score");
        let median = expected.quantile(0.5);
        let loss = 0.5 * crate::special::real(last.abs_diff(median));
        assert!((score.pinball[0] - loss).abs() < 1e-12, "{last}");
    }
}

#[test]
fn several_periods_ahead_are_judged_by_their_sum() {
    // Sums of two: 0 + 1 and 1 + 1 after one period; the median of the forecast is 0.
    let plan = Plan { ahead: 2, first: 1 };
    let score = judge(&even(&[5, 0, 1, 1]), halves(), plan).expect("a score");
    assert_eq!(score.forecasts, 2);
    assert!((score.pinball[0] - 0.5 * (1.0 + 2.0) / 2.0).abs() < 1e-12);
}

#[test]
fn a_method_gets_the_range_of_its_own_errors() {
    // The average forecasts 2 then 1: errors 2 and 3, squares 4 and 9 over 3. Then the point is 2.
    let mut average = ByPoint::new(Method::MovingAverage);
    for period in even(&[2, 0, 4]) {
        average.observe(&period).expect("observed");
    }
    assert!((average.point() - 2.0).abs() < 1e-12);
    let uses = average.ahead(3, 0.0).expect("a forecast");
    assert!((uses.mean() - 6.0).abs() < 1e-12);
    assert!((uses.variance() - 6.0 * 13.0 / 3.0).abs() < 1e-9);
    // All the same: no errors, so Poisson. P(0) at mean 2.
    let mut steady = ByPoint::new(Method::Croston);
    for period in even(&[2; 20]) {
        steady.observe(&period).expect("observed");
    }
    let uses = steady.ahead(1, 0.0).expect("a forecast");
    assert!((uses.pmf(0) - (-2.0_f64).exp()).abs() < 1e-8);
}

#[test]
fn the_moving_average_forgets_what_is_older_than_its_window() {
    let mut average = ByPoint::new(Method::MovingAverage);
    let mut used = vec![100; 5];
    used.extend([1; 12]);
    for period in even(&used) {
        average.observe(&period).expect("observed");
    }
    assert!((average.point() - 1.0).abs() < 1e-12);
}

#[test]
fn what_no_forecast_held_possible_is_at_the_top_and_not_lost() {
    // Nothing was used for long, so that the methods forecast nothing at all; then 3.
    let mut used = vec![0; 13];
    used.push(3);
    let score = judge(&even(&used), ByPoint::new(Method::Tsb), Plan::USUAL).expect("a score");
    assert!(
        (score.calibration.iter().sum::<f64>() - 1.0).abs() < 1e-9,
        "{:?}",
        score.calibration
    );
    assert!(score.calibration[9] >= 0.5);
    assert!(score.ranges[2].held < 0.5);
}

#[test]
fn a_history_that_is_too_short_is_told() {
    let record = track_record(
        &even(&[1, 2]),
        ByCalendar::new(gamma(1.0, 1.0)),
        Plan::USUAL,
    );
    let error = record.expect_err("too short");
    assert_eq!(
        error.to_string(),
        "a track record needs 13 periods and there are 2; wait, or take shorter periods"
    );
    let none = Plan { ahead: 0, first: 1 };
    assert!(judge(&even(&[1, 2]), halves(), none).is_err());
}

#[test]
fn every_method_is_compared_on_the_same_periods() {
    let record = track_record(
        &even(&[1, 0, 2, 0, 0, 1, 1, 0, 0, 3, 0, 1, 0, 2, 1, 0]),
        ByCalendar::new(gamma(1.0, 1.0)),
        Plan::USUAL,
    );
    let record = record.expect("a track record");
    assert_eq!(record.references.len(), 4);
    assert!(
        record
            .references
            .iter()
            .all(|(_, score)| score.forecasts == record.own.forecasts)
    );
    let (_, least) = record.best_reference(0).expect("a reference");
    assert!(
        record
            .references
            .iter()
            .all(|(_, score)| score.pinball[0] >= least)
    );
    assert!(record.best_reference(3).is_none());
}

#[test]
fn a_forecast_is_drawn_with_the_range_that_it_is_judged_by() {
    // F(0) = 1/2, F(1) = 3/4, F(2) = 7/8, F(3) = 15/16, F(4) = 31/32: 0.95 is reached at 4.
    let drawn = draw(&even(&[9, 0, 4, 5]), halves(), Plan { ahead: 1, first: 1 });
    let drawn = drawn.expect("forecasts");
    let told: Vec<_> = drawn
        .iter()
        .map(|it| (it.at, it.low, it.median, it.high, it.used, it.held()))
        .collect();
    assert_eq!(
        told,
        [
            (1, 0, 0, 4, 0, true),
            (2, 0, 0, 4, 4, true),
            (3, 0, 0, 4, 5, false)
        ]
    );
    assert!(drawn.iter().all(|it| (it.exposure - 1.0).abs() < 1e-12));
}

#[test]
fn several_periods_ahead_are_drawn_from_the_first_of_them() {
    let plan = Plan { ahead: 2, first: 1 };
    let drawn = draw(&even(&[5, 0, 1, 7]), halves(), plan).expect("forecasts");
    let told: Vec<_> = drawn.iter().map(|it| (it.at, it.used)).collect();
    assert_eq!(told, [(1, 1), (2, 8)]);
    assert!((drawn[1].exposure - 2.0).abs() < 1e-12);
}

#[test]
fn what_is_drawn_as_held_is_what_is_scored_as_held_in_whole_pieces() {
    let mut dice = Dice::new(5);
    let used: Vec<u64> = (0..200)
        .map(|_| {
            let level = 2.5 * dice.gamma(1.0);
            dice.poisson(level)
        })
        .collect();
    let (score, drawn) = (
        judge(&even(&used), halves(), Plan::USUAL).expect("a score"),
        draw(&even(&used), halves(), Plan::USUAL).expect("forecasts"),
    );
    let held = drawn.iter().filter(|it| it.held()).count();
    assert!(held > 0 && held < drawn.len(), "{held}");
    let share =
        crate::special::real(u64::try_from(held).expect("a count")) / f64::from(score.forecasts);
    assert!((share - score.ranges[2].in_whole_pieces).abs() < 1e-12);
}
