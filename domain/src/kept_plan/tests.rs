//! How plans are kept, on figures that can be worked out by hand.

use super::*;

/// Ratios and chances, put in order and with equal ratios as one.
fn told(kept: &KeptPlan, days: u32) -> Vec<(f64, f64)> {
    let mut ratios: Vec<(f64, f64)> = Vec::new();
    let mut all = kept.ratios(days);
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (ratio, chance) in all {
        match ratios.last_mut() {
            Some(last) if (last.0 - ratio).abs() < 1e-12 => last.1 += chance,
            _ => ratios.push((ratio, chance)),
        }
    }
    ratios
}

fn near(found: &[(f64, f64)], expected: &[(f64, f64)]) -> bool {
    let close = |a: f64, b: f64| (a - b).abs() < 1e-12;
    found.len() == expected.len()
        && found
            .iter()
            .zip(expected)
            .all(|(a, b)| close(a.0, b.0) && close(a.1, b.1))
}

#[test]
fn ratios_come_back_with_the_chance_they_had() {
    let mut kept = KeptPlan::new(&[10]).expect("a record");
    // Three plans in four were kept, one in four came to half.
    for done in [50.0, 100.0, 100.0, 100.0] {
        kept.observe(10, 100.0, done, 0.1).expect("a plan");
    }
    assert!(near(&told(&kept, 10), &[(0.5, 0.25), (1.0, 0.75)]));
    // The same at other distances, as long as there is no nearer horizon.
    assert!(near(&told(&kept, 1), &[(0.5, 0.25), (1.0, 0.75)]));
    assert!(near(&told(&kept, 99), &[(0.5, 0.25), (1.0, 0.75)]));
}

#[test]
fn ratios_near_each_other_are_counted_together_and_their_mean_stays() {
    let mut kept = KeptPlan::new(&[5]).expect("a record");
    for (done, plans) in [(0.99, 1.0), (1.01, 3.0), (1.3, 4.0)] {
        kept.observe(5, 1.0, done, plans).expect("a plan");
    }
    let found = told(&kept, 5);
    let mean: f64 = found.iter().map(|(ratio, chance)| ratio * chance).sum();
    assert!((mean - (0.99 + 3.03 + 5.2) / 8.0).abs() < 1e-12);
    assert_eq!(found.len(), 2);
}

#[test]
fn between_two_horizons_both_count_by_their_distance() {
    let mut kept = KeptPlan::new(&[1, 4, 9]).expect("a record");
    kept.observe(1, 1.0, 0.6, 1.0).expect("a plan");
    kept.observe(9, 1.0, 1.2, 2.0).expect("a plan");
    // Nothing is known at 4, so it is a quarter of the way from 1 to 9 that counts at 3.
    assert!(near(&told(&kept, 3), &[(0.6, 0.75), (1.2, 0.25)]));
    assert!(near(&told(&kept, 9), &[(1.2, 1.0)]));
}

#[test]
fn what_is_no_plan_teaches_nothing_or_is_refused() {
    let mut kept = KeptPlan::new(&[7]).expect("a record");
    assert_eq!(kept.ratios(7), [(1.0, 1.0)]);
    let before = kept.clone();
    kept.observe(7, 0.0, 5.0, 1.0).expect("no work planned");
    kept.observe(8, 10.0, 5.0, 1.0).expect("another horizon");
    assert_eq!(kept, before);
    for wrong in [-1.0, f64::NAN, f64::INFINITY] {
        assert!(kept.observe(7, wrong, 5.0, 1.0).is_err());
        assert!(kept.observe(7, 5.0, wrong, 1.0).is_err());
        assert!(kept.observe(7, 5.0, 5.0, wrong).is_err());
    }
    // A plan missed without measure counts as four times itself.
    kept.observe(7, 1.0, 1e6, 1.0).expect("a plan");
    assert_eq!(kept.ratios(7), [(4.0, 1.0)]);
    assert_eq!(KeptPlan::new(&[3, 3]), Err(PlanError::Horizon(3)));
    assert_eq!(KeptPlan::new(&[0]), Err(PlanError::Horizon(0)));
}
