//! Wear rates, evidence, and which rung of the ladder a job can stand on.

use proptest::prelude::*;

use super::*;
use crate::exposure::{ArcTime, Driver, Grinds};

fn gamma(shape: f64, rate: f64) -> Gamma {
    Gamma::new(shape, rate).expect("a wear rate")
}

fn arc(text: &str) -> ArcTime {
    ArcTime::parse(text).expect("arc time")
}

fn grinds(number: i64) -> Grinds {
    Grinds::new(number).expect("grinds")
}

#[test]
fn the_share_of_own_data_is_the_part_of_the_exposure_that_was_seen() {
    // Scenario S10: 410 of 450 hours; none; 20 of 60 hours.
    let assumed = gamma(1.0, 40.0);
    assert!((assumed.own_data_share(410.0) - 410.0 / 450.0).abs() < 1e-15);
    assert!((assumed.own_data_share(20.0) - 1.0 / 3.0).abs() < 1e-15);
    for none in [0.0, -3.0, f64::NAN, f64::NEG_INFINITY] {
        assert_eq!(assumed.own_data_share(none).to_bits(), 0);
    }
    assert_eq!(
        assumed.own_data_share(f64::INFINITY).to_bits(),
        1.0_f64.to_bits()
    );
}

#[test]
fn a_quantile_of_shape_one_is_a_logarithm() {
    // Gamma(1, b) is exponential: the quantile is -ln(1 - p) / b.
    for p in [1e-9_f64, 0.05, 0.5, 0.95, 0.999_999] {
        let expected = -(-p).ln_1p() / 40.0;
        assert!(
            (gamma(1.0, 40.0).quantile(p) / expected - 1.0).abs() < 1e-12,
            "{p}"
        );
    }
    assert_eq!(gamma(1.0, 40.0).quantile(0.0).to_bits(), 0);
    assert!(gamma(1.0, 40.0).quantile(1.0).is_infinite());
    assert!(gamma(1.0, 40.0).quantile(f64::NAN).is_infinite());
}

#[test]
fn figures_that_make_no_rate_are_refused() {
    for bad in [0.0, -1.0, 1e-7, 1e10, f64::NAN, f64::INFINITY] {
        assert!(
            matches!(Gamma::new(bad, 1.0), Err(GammaError::Shape(_))),
            "{bad}"
        );
        assert!(
            matches!(Gamma::new(1.0, bad), Err(GammaError::Rate(_))),
            "{bad}"
        );
    }
    let assumed = gamma(1.0, 40.0);
    for bad in [-1.0, f64::NAN, f64::INFINITY] {
        assert!(
            matches!(assumed.posterior(1, bad), Err(GammaError::Exposure(_))),
            "{bad}"
        );
    }
    assert!(assumed.posterior(u64::MAX, 1.0).is_err());
}

#[test]
fn evidence_of_nonsense_is_no_evidence() {
    let strange = Evidence {
        events: -2,
        arc_seconds: -5,
        grinds: -1,
        weeks: f64::NAN,
        ..Evidence::default()
    };
    assert_eq!(strange.used(), 0);
    for &driver in Driver::ALL {
        assert_eq!(strange.exposure(driver).to_bits(), 0);
    }
    let weeks = JobSize {
        weeks: Some(f64::NAN),
        ..JobSize::default()
    };
    assert_eq!(weeks.exposure(Driver::Weeks), None);
}

#[test]
fn logged_seconds_are_arc_hours_and_the_job_is_in_the_same_unit() {
    let logged = Evidence {
        arc_seconds: 5_400,
        grinds: 3,
        weeks: 2.5,
        events: 1,
        ..Evidence::default()
    };
    let job = JobSize {
        arc: Some(arc("90m")),
        grinds: Some(grinds(3)),
        weeks: Some(2.5),
        ..JobSize::default()
    };
    let expected = [1.5_f64, 3.0, 2.5];
    for (driver, expected) in [Driver::ArcTime, Driver::Grinds, Driver::Weeks]
        .into_iter()
        .zip(expected)
    {
        assert_eq!(logged.exposure(driver).to_bits(), expected.to_bits());
        assert_eq!(
            job.exposure(driver).map(f64::to_bits),
            Some(expected.to_bits())
        );
    }
}

#[test]
fn each_rung_stands_on_what_is_given_and_logged() {
    let logged = Evidence {
        events: 58,
        arc_seconds: 410 * 3600,
        grinds: 1180,
        weeks: 156.0,
        ..Evidence::default()
    };
    let all = JobSize {
        arc: Some(arc("34h")),
        grinds: Some(grinds(100)),
        weeks: Some(8.0),
        ..JobSize::default()
    };
    assert_eq!(
        choose(&logged, &all),
        Ok((Rung::TypedEstimate, Driver::ArcTime))
    );
    let no_arc = Evidence {
        arc_seconds: 0,
        ..logged
    };
    assert_eq!(choose(&no_arc, &all), Ok((Rung::Grinds, Driver::Grinds)));
    let no_use_logged = Evidence {
        grinds: 0,
        ..no_arc
    };
    assert_eq!(
        choose(&no_use_logged, &all),
        Ok((Rung::Withdrawals, Driver::Weeks))
    );
    let by_weeks = JobSize {
        weeks: Some(8.0),
        ..JobSize::default()
    };
    assert_eq!(
        choose(&logged, &by_weeks),
        Ok((Rung::Withdrawals, Driver::Weeks))
    );
    // Hours without use are data too.
    let unused = Evidence {
        events: 0,
        ..logged
    };
    assert_eq!(
        choose(&unused, &all),
        Ok((Rung::TypedEstimate, Driver::ArcTime))
    );
}

#[test]
fn a_part_without_history_stands_on_its_starting_assumption() {
    let new = Evidence::default();
    let by_hours = JobSize {
        arc: Some(arc("34h")),
        ..JobSize::default()
    };
    assert_eq!(
        choose(&new, &by_hours),
        Ok((Rung::Assumption, Driver::ArcTime))
    );
    let by_grinds = JobSize {
        grinds: Some(grinds(100)),
        ..JobSize::default()
    };
    assert_eq!(
        choose(&new, &by_grinds),
        Ok((Rung::Assumption, Driver::Grinds))
    );
    // Late corrections took the sum below zero.
    let below = Evidence { events: -1, ..new };
    assert_eq!(
        choose(&below, &by_hours),
        Ok((Rung::Assumption, Driver::ArcTime))
    );
}

#[test]
fn use_without_exposure_is_never_divided_by_nothing() {
    let taken = Evidence {
        events: 58,
        weeks: 156.0,
        ..Evidence::default()
    };
    let by_hours = JobSize {
        arc: Some(arc("34h")),
        ..JobSize::default()
    };
    let refused = choose(&taken, &by_hours).expect_err("no rate");
    assert_eq!(
        refused.to_string(),
        "58 used, but no arc hours logged; log arc hours, or give the job as a number of normal \
         weeks of TIG"
    );
    let both = JobSize {
        grinds: Some(grinds(100)),
        ..by_hours
    };
    assert_eq!(
        choose(&taken, &both).expect_err("no rate").to_string(),
        "58 used, but no arc hours and no grinds logged; log arc hours or grinds, or give the job \
         as a number of normal weeks of TIG"
    );
    let today = Evidence {
        weeks: 0.0,
        ..taken
    };
    let by_weeks = JobSize {
        weeks: Some(8.0),
        ..JobSize::default()
    };
    assert_eq!(
        choose(&today, &by_weeks).expect_err("no rate").to_string(),
        "58 used, but no time has passed since the first record; give the job in arc hours or \
         grinds and log those, or ask again in a week"
    );
}

#[test]
fn a_job_without_a_size_is_asked_for_one() {
    let refused = choose(&Evidence::default(), &JobSize::default()).expect_err("no size");
    assert_eq!(refused, NoEvidence::NoSize);
    assert!(refused.to_string().contains("how many normal weeks"));
}

#[test]
fn rungs_are_numbered_from_the_firmest() {
    assert_eq!(Rung::ALL.map(Rung::number), [1, 2, 3, 4, 5, 6, 7]);
    assert!(Rung::ALL.is_sorted());
}

proptest! {
    #[test]
    fn a_rate_of_own_evidence_always_has_an_exposure_under_it(
        events in -5_i64..100,
        logged in (0_i64..2, 0_i64..2, 0_u8..2),
        given in (any::<bool>(), any::<bool>(), any::<bool>()),
    ) {
        let (arc_seconds, grinds_logged, weeks) = logged;
        let weeks = f64::from(weeks);
        let evidence = Evidence { events, arc_seconds, grinds: grinds_logged, weeks, ..Evidence::default() };
        let size = JobSize {
            arc: given.0.then(|| arc("1h")),
            grinds: given.1.then(|| grinds(1)),
            weeks: given.2.then_some(1.0),
            ..JobSize::default()
        };
        match choose(&evidence, &size) {
            Ok((rung, driver)) => {
                prop_assert!(size.exposure(driver).is_some());
                let is_own = rung != Rung::Assumption;
                prop_assert_eq!(is_own, evidence.exposure(driver) > 0.0);
                prop_assert!(is_own || events <= 0);
            }
            Err(NoEvidence::NoSize) => prop_assert_eq!(given, (false, false, false)),
            Err(NoEvidence::NotLogged { .. }) => prop_assert!(events > 0),
        }
    }

    #[test]
    fn quantiles_of_a_rate_rise_and_stay_above_zero(
        shape in 0.05..1e6_f64,
        rate in 1e-6..1e9_f64,
        p in 0.001..0.99_f64,
    ) {
        let known = gamma(shape, rate);
        let (lower, upper) = (known.quantile(p), known.quantile(p + 0.009));
        prop_assert!(lower >= 0.0 && upper.is_finite() && lower <= upper);
    }
}
