//! The discounted model against the plain one, against its own moments by simulation, and at the ends of its
//! range. Records of the outside world are in the suite `reference`.

use proptest::prelude::*;

use super::*;
use crate::dice::Dice;

fn gamma(shape: f64, rate: f64) -> Gamma {
    Gamma::new(shape, rate).expect("a wear rate")
}

fn known(discount: f64, unevenness: Unevenness, record: &[u64]) -> Discounted {
    let mut known = Discounted::new(gamma(1.0, 4.0), discount, unevenness).expect("a model");
    for used in record {
        known.observe(*used, 1.0);
    }
    known
}

#[test]
fn without_a_discount_it_is_the_plain_rate_over_periods() {
    let record = [0, 3, 1, 0, 0, 2];
    let plain = gamma(1.0, 4.0).posterior(6, 6.0).expect("a posterior");
    let known = known(1.0, Unevenness::None, &record);
    for periods in [1, 5, 52] {
        let expected = plain.predictive(f64::from(periods)).expect("a predictive");
        let found = known
            .predictive(periods, f64::from(periods))
            .expect("a predictive");
        for k in [0, 1, 4, 30] {
            let (found, expected) = (found.pmf(k), expected.pmf(k));
            assert!((found / expected - 1.0).abs() < 1e-12, "{periods} {k}");
        }
    }
}

#[test]
fn one_period_ahead_is_the_discounted_shape_at_the_discounted_rate() {
    // After 2 and 1: a = (0.8 + 2) 0.8 + 1 = 3.24, b = (3.2 + 1) 0.8 + 1 = 4.36; ahead 2.592 and 3.488.
    let found = known(0.8, Unevenness::None, &[2, 1]).predictive(1, 1.0);
    let expected = NegativeBinomial::new(2.592, 3.488, 1.0);
    let (found, expected) = (
        found.expect("a predictive"),
        expected.expect("a predictive"),
    );
    for k in 0..9 {
        assert!((found.pmf(k) / expected.pmf(k) - 1.0).abs() < 1e-12, "{k}");
    }
}

#[test]
fn clumps_and_swings_widen_a_period_as_they_say() {
    // Nothing is left to learn of the rate, so that the variance is c m, or m + s m^2.
    let sure = gamma(8e8, 4e8);
    for (unevenness, variance) in [
        (Unevenness::None, 2.0),
        (Unevenness::Clumps(3.0), 6.0),
        (Unevenness::Swings(0.5), 4.0),
    ] {
        let known = Discounted::new(sure, 1.0, unevenness).expect("a model");
        let uses = known.predictive(1, 1.0).expect("a predictive");
        assert!((uses.mean() - 2.0).abs() < 1e-9);
        assert!(
            (uses.variance() / variance - 1.0).abs() < 1e-7,
            "{unevenness:?}"
        );
        let uses = known.predictive(10, 10.0).expect("a predictive");
        assert!(
            (uses.variance() / variance - 10.0).abs() < 1e-5,
            "{unevenness:?}"
        );
    }
}

/// Use over periods ahead as the model has it, drawn: a gamma rate, multiplied before each period by a beta
/// factor, Beta(d a, (1 - d) a) / d, and counts that are Poisson.
fn drawn(shape: f64, rate: f64, discount: f64, periods: u32, dice: &mut Dice) -> u64 {
    let (mut shape, mut level) = (shape, dice.gamma(shape) / rate);
    let mut used = 0;
    for _ in 0..periods {
        let (kept, lost) = (
            dice.gamma(discount * shape),
            dice.gamma((1.0 - discount) * shape),
        );
        level *= kept / (kept + lost) / discount;
        shape *= discount;
        used += dice.poisson(level);
    }
    used
}

#[test]
fn several_periods_ahead_have_the_mean_and_the_variance_of_the_process() {
    let assumed = gamma(12.0, 8.0);
    let known = Discounted::new(assumed, 0.9, Unevenness::None).expect("a model");
    let uses = known.predictive(4, 4.0).expect("a predictive");
    let mut dice = Dice::new(11);
    let draws = 200_000_u32;
    let (mut sum, mut squares, mut within) = (0.0, 0.0, 0.0);
    let enough = uses.quantile(0.95);
    for _ in 0..draws {
        let used = drawn(12.0, 8.0, 0.9, 4, &mut dice);
        let pieces = special::real(used);
        sum += pieces;
        squares += pieces * pieces;
        within += if used <= enough { 1.0 } else { 0.0 };
    }
    let mean = sum / f64::from(draws);
    let variance = squares / f64::from(draws) - mean * mean;
    // Mean 6 with a standard error of 0.008; the variance of 200 000 draws is good to one part in a hundred.
    assert!((mean - uses.mean()).abs() < 0.03, "{mean}");
    assert!(
        (variance / uses.variance() - 1.0).abs() < 0.02,
        "{variance}"
    );
    assert!((within / f64::from(draws) - uses.cdf(enough)).abs() < 0.004);
}

#[test]
fn closed_days_are_less_exposure_and_not_less_wear() {
    // One piece a normal week; half of the weeks had one open day of five, and a fifth of the use.
    let weeks = |part: &mut ByCalendar, closed: f64| {
        let mut dice = Dice::new(8);
        for week in 0..200 {
            let open = if week % 2 == 0 { 1.0 } else { 0.2 };
            part.observe(dice.poisson(open), if week % 2 == 0 { 1.0 } else { closed });
        }
        part.mean()
    };
    let told = weeks(&mut ByCalendar::new(gamma(1.0, 1.0)), 0.2);
    let untold = weeks(&mut ByCalendar::new(gamma(1.0, 1.0)), 1.0);
    // The mean over some twenty weeks has a standard error of 0.3; untold it is near 0.6.
    assert!((told - 1.0).abs() < 0.3, "{told}");
    assert!(untold < 0.8 * told, "{untold} {told}");
    // A closed period uses nothing, for certain.
    let closed = ByCalendar::new(gamma(1.0, 1.0)).predictive(1, 0.0);
    assert!((closed.expect("a predictive").cdf(0) - 1.0).abs() < 1e-12);
    for bad in [-1.0, f64::NAN, 1e10] {
        assert!(ByCalendar::new(gamma(1.0, 1.0)).predictive(1, bad).is_err());
    }
}

#[test]
fn what_makes_no_model_is_refused() {
    let new = |discount, unevenness| Discounted::new(gamma(1.0, 1.0), discount, unevenness);
    for bad in [0.0, 0.499, 1.001, f64::NAN] {
        assert!(matches!(
            new(bad, Unevenness::None),
            Err(DiscountError::Discount(_))
        ));
    }
    for bad in [0.5, 1e4, f64::NAN] {
        assert!(matches!(
            new(0.9, Unevenness::Clumps(bad)),
            Err(DiscountError::Clumps(_))
        ));
    }
    for bad in [-0.1, 101.0, f64::NAN] {
        assert!(matches!(
            new(0.9, Unevenness::Swings(bad)),
            Err(DiscountError::Swings(_))
        ));
    }
    assert!(
        known(0.9, Unevenness::None, &[])
            .predictive(0, 0.0)
            .is_err()
    );
    assert!(
        known(0.9, Unevenness::None, &[])
            .predictive(5_201, 1.0)
            .is_err()
    );
}

#[test]
fn every_model_that_is_tried_is_one_that_may_be_made() {
    let part = ByCalendar::new(gamma(0.5, 2.0));
    assert_eq!(part.periods(), 0);
    let uses = part.predictive(1, 1.0).expect("a predictive");
    assert_eq!(uses.components().len(), CANDIDATES);
    for discount in [1.0, 0.98, 0.95, 0.9, 0.85, 0.8, 0.7] {
        for pieces in [1.5, 2.0, 3.0, 5.0] {
            let made = Discounted::new(gamma(1.0, 1.0), discount, Unevenness::Clumps(pieces));
            assert!(made.is_ok());
        }
    }
}

#[test]
fn a_record_is_told_apart_by_how_it_changes_and_how_uneven_it_is() {
    let mut dice = Dice::new(5);
    let learn = |record: &mut dyn FnMut(u32) -> u64| {
        let mut part = ByCalendar::new(gamma(1.0, 1.0));
        (0..150).for_each(|period| part.observe(record(period), 1.0));
        part.most_likely()
    };
    // Two pieces a period, always. Some fifty periods of evidence do not tell 0.95 from 1 for certain.
    let steady = learn(&mut |_| dice.poisson(2.0));
    assert!(steady.discount >= 0.95, "{steady:?}");
    assert!(
        matches!(
            steady.unevenness,
            Unevenness::None | Unevenness::Swings(0.15)
        ),
        "{steady:?}"
    );
    // Ten times as much every twelve periods, then less again.
    let changing = learn(&mut |period| dice.poisson([1.0, 10.0][(period / 12 % 2) as usize]));
    assert!(changing.discount <= 0.85, "{changing:?}");
    // Always five at once.
    let clumped = learn(&mut |_| 5 * dice.poisson(0.4));
    assert_eq!(clumped.unevenness, Unevenness::Clumps(5.0), "{clumped:?}");
}

proptest! {
    #[test]
    fn no_record_makes_a_forecast_that_is_not_a_number(
        record in proptest::collection::vec(
            prop_oneof![Just(0_u64), 0..9_u64, Just(1_000_000_000), Just(u64::MAX)],
            0..60,
        ),
        periods in 1..600_u32,
        exposure in any::<f64>(),
    ) {
        let mut part = ByCalendar::new(gamma(1e-3, 1e-6));
        for used in &record { part.observe(*used, if used % 2 == 0 { 1.0 } else { exposure }); }
        let uses = part.predictive(periods, f64::from(periods)).expect("a predictive");
        prop_assert!(uses.mean().is_finite() && part.mean().is_finite());
        prop_assert!((0.0..=1.0).contains(&uses.cdf(3)));
        prop_assert!(part.most_likely().weight > 0.0);
    }

    #[test]
    fn more_exposure_uses_more(
        record in proptest::collection::vec(0..5_u64, 0..40),
        periods in 1..100_u32,
    ) {
        let mut part = ByCalendar::new(gamma(0.5, 2.0));
        for used in &record { part.observe(*used, 1.0); }
        let (fewer, more) = (part.predictive(periods, 5.0), part.predictive(periods, 6.0));
        let (fewer, more) = (fewer.expect("a predictive"), more.expect("a predictive"));
        prop_assert!(more.mean() > fewer.mean());
    }
}
