//! The spread of work about plans, on figures that can be worked out by hand.

use super::*;

#[test]
fn the_variance_is_the_mean_square_miss_with_what_it_started_from() {
    let mut kept = KeptPlan::new(&[(1, 0.09), (10, 0.04)]).expect("a record");
    assert!((kept.relative_variance(10) - 0.04).abs() < 1e-15);
    // Ten evenings of ten-day plans count as one plan. Half missed by a fifth, half by none:
    // mean square 0.02, so (2 x 0.04 + 0.02) / 3.
    for evening in 0..10 {
        let done = if evening % 2 == 0 { 80.0 } else { 100.0 };
        kept.observe(10, 100.0, done).expect("a plan");
    }
    assert!((kept.relative_variance(10) - 0.1 / 3.0).abs() < 1e-15);
    // Halfway between 1 and 10 days, 5.5 of them, is no whole day; 4 is a third of the way.
    let expected = 0.09 + (0.1 / 3.0 - 0.09) / 3.0;
    assert!((kept.relative_variance(4) - expected).abs() < 1e-15);
    assert!((kept.relative_variance(99) - 0.1 / 3.0).abs() < 1e-15);
    assert!((kept.relative_variance(0) - 0.09).abs() < 1e-15);
}

#[test]
fn what_is_no_plan_teaches_nothing_or_is_refused() {
    let mut kept = KeptPlan::new(&[(7, 0.04)]).expect("a record");
    let before = kept.clone();
    kept.observe(7, 0.0, 5.0).expect("no work planned");
    kept.observe(8, 10.0, 5.0).expect("another horizon");
    assert_eq!(kept, before);
    assert_eq!(kept.observe(7, -1.0, 5.0), Err(PlanError::Exposure(-1.0)));
    assert!(kept.observe(7, 1.0, f64::NAN).is_err());
    // A plan missed without measure counts as three times itself: (2 x 0.04 + 9/7) / (2 + 1/7).
    kept.observe(7, 1.0, 1e6).expect("a plan");
    assert!((kept.relative_variance(7) - (0.08 + 9.0 / 7.0) / (15.0 / 7.0)).abs() < 1e-12);
    assert_eq!(
        KeptPlan::new(&[(3, 0.0), (3, 0.0)]),
        Err(PlanError::Horizon(3))
    );
    assert_eq!(KeptPlan::new(&[(3, -0.1)]), Err(PlanError::Variance(-0.1)));
    assert!(
        KeptPlan::new(&[])
            .expect("a record")
            .relative_variance(5)
            .abs()
            < 1e-300
    );
}
