//! Chances of whole jobs with the figures of the scenarios, and what must hold for any.

use proptest::prelude::*;

use super::*;

mod shared;

fn line(shape: f64, rate: f64, exposure: f64, available: i64) -> JobLine {
    let predictive = NegativeBinomial::new(shape, rate, exposure).expect("a predictive");
    JobLine {
        predictive,
        available,
    }
}

/// Scenario S5: electrode, collet, cup, O-ring, gas lens over 34 arc hours.
fn handrail(available: [i64; 5]) -> Vec<JobLine> {
    let known = [
        (60.0, 430.0),
        (7.5, 460.0),
        (20.0, 440.0),
        (3.5, 460.0),
        (2.5, 510.0),
    ];
    known
        .into_iter()
        .zip(available)
        .map(|((shape, rate), available)| line(shape, rate, 34.0, available))
        .collect()
}

/// Scenario S11: electrode, cup, collet, collet body, O-ring, back cap over 24 student-days.
fn course(available: [i64; 6]) -> Vec<JobLine> {
    [33.0, 15.0, 5.5, 2.5, 4.5, 1.5]
        .into_iter()
        .zip(available)
        .map(|(shape, available)| line(shape, 39.0, 24.0, available))
        .collect()
}

#[test]
fn the_handrail_job_rises_from_27_to_97_per_cent_with_its_order() {
    assert!((chance(&handrail([3, 1, 5, 2, 1])) - 0.2705).abs() < 5e-5);
    assert!((chance(&handrail([13, 6, 5, 2, 1])) - 0.9720).abs() < 5e-5);
}

#[test]
fn one_spare_gas_lens_is_the_largest_gain_after_the_order() {
    let gain = largest_gain(&handrail([13, 6, 5, 2, 1])).expect("a gain");
    assert_eq!(gain.index, 4);
    assert!((gain.chance - 0.9863).abs() < 5e-5);
}

#[test]
fn the_course_rises_from_5_to_93_to_95_per_cent() {
    let before = chance(&course([14, 9, 6, 4, 3, 2]));
    assert!((before - 0.045_857_889_629_081).abs() < 1e-12);
    let by_part = course([34, 19, 11, 9, 13, 3]);
    assert!((chance(&by_part) - 0.928_156_966_821_099).abs() < 1e-12);
    // The second back cap is what one more piece does most for.
    let gain = largest_gain(&by_part).expect("a gain");
    assert_eq!(gain.index, 5);
    assert!((gain.chance - 0.952_645_250_450_744).abs() < 1e-12);
}

#[test]
fn nothing_to_use_is_sure_and_no_piece_raises_it() {
    assert_eq!(chance(&[]).to_bits(), 1.0_f64.to_bits());
    assert_eq!(largest_gain(&[]), None);
    let idle = [line(1.0, 40.0, 0.0, 0)];
    assert_eq!(chance(&idle).to_bits(), 1.0_f64.to_bits());
    assert_eq!(largest_gain(&idle), None);
}

#[test]
fn a_book_below_zero_counts_as_an_empty_drawer() {
    let (empty, below) = (line(1.0, 1.0, 1.0, 0), line(1.0, 1.0, 1.0, -3));
    // Gamma(1, 1) over 1: none is used with chance one half.
    assert!((chance(&[below]) - 0.5).abs() < 1e-15);
    assert!((chance(&[empty]) - 0.5).abs() < 1e-15);
    // A piece more does not reach a drawer that owes three.
    assert_eq!(largest_gain(&[below]), None);
    assert_eq!(
        line(1.0, 1.0, 1.0, i64::MAX).chance().to_bits(),
        1.0_f64.to_bits()
    );
}

proptest! {
    #[test]
    fn a_chance_is_a_probability_that_never_falls_with_stock(
        parts in prop::collection::vec((0.1..60.0_f64, 1.0..500.0_f64, 0_i64..20), 1..8),
        exposure in 0.0..100.0_f64,
        which in 0_usize..8,
    ) {
        let mut lines: Vec<JobLine> = parts
            .iter()
            .map(|(shape, rate, available)| line(*shape, *rate, exposure, *available))
            .collect();
        let before = chance(&lines);
        prop_assert!((0.0..=1.0).contains(&before));
        let gain = largest_gain(&lines);
        let which = which % lines.len();
        lines[which].available += 1;
        let after = chance(&lines);
        prop_assert!(after >= before * (1.0 - 1e-12));
        // No single piece does more than the largest gain says.
        prop_assert!(after <= gain.map_or(before, |gain| gain.chance) * (1.0 + 1e-12));
    }
}
