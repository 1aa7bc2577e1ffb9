//! Factors whose values can be worked out by hand, and what must hold for any.

use super::*;
use crate::wear::Gamma;

fn observed(part: usize, level: usize, hours: f64, events: u64) -> Observation {
    Observation {
        part,
        levels: vec![level],
        exposures: [hours, 0.0],
        events,
    }
}

/// One driver, pieces over exposure without any prior worth naming: `used` by part.
fn plain(used: &[u64]) -> impl Fn(usize, [f64; 2]) -> [f64; 2] + '_ {
    move |part: usize, exposures: [f64; 2]| [real(used[part]) / exposures[0].max(1e-9), 0.0]
}

#[test]
fn one_part_in_two_groups_has_the_ratio_of_its_rates_drawn_towards_one() {
    // 40 pieces in 400 h and 30 in 100 h: 0.1 and 0.3 an hour. At the fixed point with factor f the
    // rate is 70 / (400 + 100 f), and f = 32 / (2 + 100 rate): f = 32 (400 + 100 f) / (7800 + 200 f),
    // so f^2 + 23 f - 64 = 0, f = (sqrt(529 + 256) - 23) / 2.
    let record = [observed(0, 0, 400.0, 40), observed(0, 1, 100.0, 30)];
    let factors = learn(&[2], 1, &record, &plain(&[70])).expect("factors");
    assert_eq!(factors.of(0, 0), Some(Factor::Reference));
    let found = factors.product(&[1]).expect("a factor");
    let expected = 0.5 * (785.0_f64.sqrt() - 23.0);
    assert!((found - expected).abs() < 1e-6, "{found} {expected}");
}

#[test]
fn a_factor_is_shared_by_parts_of_different_rates() {
    // Beginners wear every part three times as fast; cups go ten times as fast as lenses. So many
    // pieces that the prior of two does not matter beyond a thousandth.
    let record = [
        observed(0, 0, 1_000.0, 10_000),
        observed(0, 1, 1_000.0, 30_000),
        observed(1, 0, 3_000.0, 3_000),
        observed(1, 1, 500.0, 1_500),
    ];
    let factors = learn(&[2], 2, &record, &plain(&[40_000, 4_500])).expect("factors");
    // The beginners used most, so the others are told relative to them: a third.
    assert_eq!(factors.of(0, 1), Some(Factor::Reference));
    let found = factors.product(&[0]).expect("a factor");
    assert!((found * 3.0 - 1.0).abs() < 1e-3, "{found}");
}

#[test]
fn two_axes_are_told_apart_by_the_work_that_mixes_them() {
    // Use = hours x (2 in the high band) x (3 by beginners), exactly.
    let cell = |band: usize, group: usize, hours: f64, events: u64| Observation {
        part: 0,
        levels: vec![band, group],
        exposures: [hours, 0.0],
        events,
    };
    let record = [
        cell(0, 0, 9_000.0, 9_000),
        cell(1, 0, 1_000.0, 2_000),
        cell(0, 1, 1_000.0, 3_000),
        cell(1, 1, 500.0, 3_000),
    ];
    let factors = learn(&[2, 2], 1, &record, &plain(&[17_000])).expect("factors");
    let found = [factors.product(&[1, 0]), factors.product(&[0, 1])].map(|f| f.expect("known"));
    assert!(
        (found[0] - 2.0).abs() < 0.01 && (found[1] - 3.0).abs() < 0.01,
        "{found:?}"
    );
    let both = factors.product(&[1, 1]).expect("known");
    let work: [(&[usize], f64); 2] = [(&[0, 0], 10.0), (&[1, 1], 2.0)];
    let sum = factors.effective(work);
    assert!((sum.exposure - (10.0 + 2.0 * both)).abs() < 1e-12);
    assert!(sum.apart.abs() < 1e-300);
}

#[test]
fn with_fewer_than_five_pieces_a_group_is_kept_apart_and_teaches_nobody() {
    let few = [
        observed(0, 0, 400.0, 40),
        observed(0, 1, 10.0, 4),
        observed(0, 2, 10.0, 5),
    ];
    let factors = learn(&[3], 1, &few, &plain(&[45])).expect("factors");
    assert_eq!(factors.of(0, 1), Some(Factor::Apart { events: 4 }));
    assert!(
        factors
            .of(0, 2)
            .and_then(Factor::get)
            .is_some_and(|f| f > 1.0)
    );
    assert_eq!(factors.product(&[1]), None);
    let work: [(&[usize], f64); 2] = [(&[0], 3.0), (&[1], 7.0)];
    let sum = factors.effective(work);
    assert_eq!(
        sum,
        Effective {
            exposure: 3.0,
            apart: 7.0
        }
    );
    // The same without the four pieces and ten hours: nothing else moves.
    let without = [few[0].clone(), few[2].clone()];
    let again = learn(&[3], 1, &without, &plain(&[45])).expect("factors");
    assert_eq!(again.product(&[2]), factors.product(&[2]));
}

#[test]
fn without_any_use_every_factor_is_unknown() {
    let idle = [observed(0, 0, 50.0, 0), observed(0, 1, 50.0, 0)];
    let rates = |_: usize, _: [f64; 2]| [0.1, 0.0];
    let factors = learn(&[2], 1, &idle, &rates).expect("factors");
    assert_eq!(factors, Factors::unknown(&[2]));
}

#[test]
fn rates_with_a_prior_are_drawn_towards_it_and_the_factor_is_still_found() {
    let prior = Gamma::new(1.0, 40.0).expect("a prior");
    let record = [observed(0, 0, 800.0, 80), observed(0, 1, 400.0, 80)];
    let rates = |_: usize, exposures: [f64; 2]| {
        let known = prior.posterior(160, exposures[0]).expect("a rate");
        [known.mean(), 0.0]
    };
    let factors = learn(&[2], 1, &record, &rates).expect("factors");
    // Equal use: the first is the reference. 0.1 and 0.2 an hour, drawn a little towards one.
    let found = factors.product(&[1]).expect("a factor");
    assert!(found > 1.8 && found < 2.0, "{found}");
}

#[test]
fn what_is_not_there_is_refused() {
    let rates = |_: usize, _: [f64; 2]| [0.1, 0.0];
    let level = learn(&[2], 1, &[observed(0, 2, 1.0, 1)], &rates);
    assert_eq!(level, Err(FactorError::Level { axis: 0, level: 2 }));
    let part = learn(&[2], 1, &[observed(1, 0, 1.0, 1)], &rates);
    assert_eq!(part, Err(FactorError::Part(1)));
    let exposure = learn(&[2], 1, &[observed(0, 0, -1.0, 1)], &rates);
    assert_eq!(exposure, Err(FactorError::Exposure(-1.0)));
}

#[test]
fn work_at_a_learned_level_counts_as_so_many_times_its_hours() {
    // Inside the band 40 pieces in 400 h, above it 12 in 60 h; Gamma(2, 20) assumed. At the fixed point
    // rate = 54 / (420 + 60 f) and f = 14 / (2 + 60 rate), found here by halving.
    let record = [observed(0, 0, 400.0, 40), observed(0, 1, 60.0, 12)];
    let assumed = Gamma::new(2.0, 20.0).expect("a rate");
    let above = WorkRate::learned(&assumed, &[2], &record, &[1]).expect("a rate");
    let (mut low, mut high) = (0.5, 5.0);
    for _ in 0..60 {
        let f = 0.5 * (low + high);
        let rate = 54.0 / (420.0 + 60.0 * f);
        if f < 14.0 / (2.0 + 60.0 * rate) {
            low = f;
        } else {
            high = f;
        }
    }
    let found = above.factor().expect("a factor");
    assert!((found - low).abs() < 1e-6, "{found} {low}");
    assert_eq!(above.used(), 52);
    assert!((above.over() - (400.0 + 60.0 * low)).abs() < 1e-4);
    // 34 h of it: the mean is f x rate x 34, the squared spread of the rate 1/54 and of the factor 1/14.
    let uses = above.predictive(34.0).expect("a law");
    let mean = low * 54.0 / (420.0 + 60.0 * low) * 34.0;
    assert!((uses.mean() - mean).abs() < 1e-4 * mean);
    let variance = mean + mean * mean * (1.0 / 54.0 + 1.0 / 14.0);
    assert!((uses.variance() - variance).abs() < 1e-4 * variance);
    // At the reference level nothing but the rate is uncertain.
    let inside = WorkRate::learned(&assumed, &[2], &record, &[0]).expect("a rate");
    assert_eq!(inside.factor(), Some(1.0));
    assert!((inside.at_work().expect("a law").shape() - 54.0).abs() < 1e-9);
}

#[test]
fn work_at_a_level_of_few_pieces_stands_on_its_own_record_alone() {
    // 3 in 20 h above the band: Gamma(2 + 3, 20 + 20).
    let record = [observed(0, 0, 400.0, 40), observed(0, 1, 20.0, 3)];
    let assumed = Gamma::new(2.0, 20.0).expect("a rate");
    let above = WorkRate::learned(&assumed, &[2], &record, &[1]).expect("a rate");
    assert_eq!((above.factor(), above.used()), (None, 3));
    assert_eq!(above.known(), &Gamma::new(5.0, 40.0).expect("a rate"));
    assert_eq!(above.predictive(8.0), above.known().predictive(8.0));
    let inside = WorkRate::learned(&assumed, &[2], &record, &[0]).expect("a rate");
    assert_eq!(inside.known(), &Gamma::new(42.0, 420.0).expect("a rate"));
    // Without any record it is the starting assumption.
    let nothing = WorkRate::learned(&assumed, &[2], &[], &[1]).expect("a rate");
    assert_eq!((nothing.factor(), nothing.known()), (None, &assumed));
    let missing = WorkRate::learned(&assumed, &[2], &record, &[2]);
    assert_eq!(missing, Err(FactorError::Level { axis: 0, level: 2 }));
}
