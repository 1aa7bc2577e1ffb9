//! What a pace must do: agree with the textbook while nothing changes, follow a change, and weigh
//! the days of change as an enumeration of all of them does.

use super::*;

fn gamma(shape: f64, rate: f64) -> Gamma {
    Gamma::new(shape, rate).expect("a rate")
}

#[test]
fn the_weights_are_those_of_all_histories_of_change_enumerated() {
    // Three days, so eight patterns of change: a pattern cuts the days into runs, and each run has
    // the negative binomial chance of its days one after the other.
    let days = [(2_u64, 1.5), (7, 2.0), (5, 1.0)];
    let (prior, chance) = (gamma(1.5, 1.0), 0.2);
    let mut pace = Pace::new(prior, chance).expect("a pace");
    for (events, exposure) in days {
        pace.observe(events, exposure).expect("a day");
    }
    let (mut mass, mut mean) = (0.0, 0.0);
    for pattern in 0..8_u32 {
        let (mut weight, mut rate) = (1.0, prior);
        for (day, (events, exposure)) in days.into_iter().enumerate() {
            let changes = pattern >> day & 1 == 1;
            weight *= if changes { chance } else { 1.0 - chance };
            if changes {
                rate = prior;
            }
            weight *= rate.predictive(exposure).expect("a law").pmf(events);
            rate = rate.posterior(events, exposure).expect("a rate");
        }
        mass += weight;
        mean += weight * rate.mean();
    }
    assert!((pace.mean() / (mean / mass) - 1.0).abs() < 1e-12);
    let weights: f64 = pace.rates().map(|(weight, _)| weight).sum();
    assert!((weights - 1.0).abs() < 1e-12);
}

#[test]
fn while_nothing_changes_it_is_nearly_the_plain_gamma() {
    // Counts that alternate about one an hour; the plain posterior is Gamma(1 + 400, 1 + 400).
    let mut pace = Pace::new(gamma(1.0, 1.0), Pace::CHANGE_CHANCE).expect("a pace");
    for day in 0..100_u64 {
        pace.observe(3 + 2 * (day % 2), 4.0).expect("a day");
    }
    assert!((pace.mean() - 1.0).abs() < 0.02, "{}", pace.mean());
    assert!(pace.held() > 300.0, "{}", pace.held());
    let plain = 401.0 / (401.0 * 401.0);
    assert!(pace.variance() > plain && pace.variance() < 4.0 * plain);
}

#[test]
fn a_doubling_is_noticed_within_seven_days_and_the_old_days_then_count_no_more() {
    let mut pace = Pace::new(gamma(1.0, 1.0), Pace::CHANGE_CHANCE).expect("a pace");
    for _ in 0..200 {
        pace.observe(4, 4.0).expect("a day");
    }
    for _ in 0..7 {
        pace.observe(8, 4.0).expect("a day");
    }
    assert!(pace.mean() > 1.8, "{}", pace.mean());
    assert!(pace.held() < 100.0, "{}", pace.held());
}

#[test]
fn a_day_that_nothing_explains_starts_anew_instead_of_failing() {
    let mut pace = Pace::new(gamma(1e6, 1e6), 1e-3).expect("a pace");
    pace.observe(1 << 28, 1.0).expect("a day");
    assert!(pace.mean().is_finite() && pace.variance().is_finite());
}

#[test]
fn what_is_no_day_is_refused() {
    let prior = gamma(1.0, 1.0);
    for chance in [0.0, 1.0, f64::NAN] {
        assert!(matches!(
            Pace::new(prior, chance),
            Err(PaceError::Chance(_))
        ));
    }
    let mut pace = Pace::new(prior, 0.01).expect("a pace");
    let before = pace.clone();
    assert!(pace.observe(1, f64::NAN).is_err() && pace.observe(1, -1.0).is_err());
    pace.observe(7, 0.0).expect("nothing to take in");
    assert_eq!(pace, before);
}
