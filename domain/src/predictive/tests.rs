//! Predictives with closed forms, and what must hold for any. Values of many digits from outside
//! are in the reference tests of the workspace.

use proptest::prelude::*;

use super::*;

fn uses(size: f64, rate: f64, exposure: f64) -> NegativeBinomial {
    NegativeBinomial::new(size, rate, exposure).expect("a predictive")
}

/// Equal to within a part in 1e12.
fn near(found: f64, expected: f64) -> bool {
    (found - expected).abs() <= 1e-12 * expected.abs()
}

#[test]
fn a_shape_of_one_over_its_own_rate_halves_with_every_piece() {
    // Gamma(1, 1) over 1: P(k) = 2^-(k+1), exact.
    let halves = uses(1.0, 1.0, 1.0);
    let mut half = 0.5;
    for k in 0..200 {
        assert!(near(halves.pmf(k), half), "{k}");
        assert!(near(halves.sf(k), half), "{k}");
        assert!(near(halves.cdf(k), 1.0 - half), "{k}");
        half *= 0.5;
    }
    // Probabilities that are reached exactly count as reached.
    assert_eq!(
        [0.5, 0.75, 0.875, 0.9].map(|p| halves.quantile(p)),
        [0, 1, 2, 3]
    );
}

#[test]
fn quantiles_are_exact_on_both_sides_of_the_change_from_walk_to_search() {
    // Gamma(1, 1) over 50: P(use > k) = (50/51)^(k+1), so k + 1 is a quotient of logarithms.
    let pieces = uses(1.0, 1.0, 50.0);
    let (mut least, mut largest) = (u64::MAX, 0);
    for thousandths in 960..996 {
        let p = f64::from(thousandths) / 1000.0;
        let expected =
            special::count_at_or_below(((1.0 - p).ln() / (50.0_f64 / 51.0).ln()).ceil()) - 1;
        assert_eq!(pieces.quantile(p), expected, "{p}");
        (least, largest) = (least.min(expected), largest.max(expected));
    }
    assert!(least < 192 && largest > 222);
}

#[test]
fn a_shape_of_two_has_its_closed_form() {
    // Gamma(2, 3) over 1: P(k) = (k+1) (3/4)^2 (1/4)^k.
    let pieces = uses(2.0, 3.0, 1.0);
    for (k, over, under) in [
        (0, 9.0, 16.0),
        (1, 18.0, 64.0),
        (2, 27.0, 256.0),
        (3, 36.0, 1024.0),
    ] {
        assert!(near(pieces.pmf(k), over / under), "{k}");
    }
    assert!(near(pieces.mean(), 2.0 / 3.0));
    assert!(near(pieces.variance(), 8.0 / 9.0));
}

#[test]
fn without_exposure_nothing_is_used() {
    let idle = uses(60.0, 430.0, 0.0);
    assert!(near(idle.pmf(0), 1.0) && near(idle.cdf(0), 1.0));
    assert_eq!(idle.pmf(1).to_bits(), 0);
    assert_eq!(idle.sf(0).to_bits(), 0);
    assert_eq!(idle.quantile(0.9999), 0);
}

#[test]
fn exposures_that_are_no_exposures_are_refused() {
    let wear = Gamma::new(1.0, 1.0).expect("a wear rate");
    for exposure in [-1.0, -f64::MIN_POSITIVE, 1.1e9, f64::NAN, f64::INFINITY] {
        assert!(matches!(
            NegativeBinomial::over(&wear, exposure),
            Err(PredictiveError::Exposure(_))
        ));
    }
    assert!(matches!(
        NegativeBinomial::new(0.0, 1.0, 1.0),
        Err(PredictiveError::Rate(_))
    ));
}

#[test]
fn probabilities_that_are_none_end_at_the_ends() {
    let pieces = uses(2.0, 3.0, 1.0);
    assert_eq!(pieces.quantile(-0.5), 0);
    assert_eq!(pieces.quantile(0.0), 0);
    assert_eq!(pieces.quantile(1.0), 1 << 53);
    assert_eq!(pieces.quantile(f64::NAN), 1 << 53);
}

/// Sizes, rates and exposures over the whole range, evenly by order of magnitude.
fn any_uses() -> impl Strategy<Value = NegativeBinomial> {
    (-3.0..9.0_f64, -6.0..9.0_f64, -6.0..9.0_f64).prop_map(|(size, rate, exposure)| {
        uses(10_f64.powf(size), 10_f64.powf(rate), 10_f64.powf(exposure))
    })
}

/// Those a shop may meet, where sums of probabilities are short.
fn shop_uses() -> impl Strategy<Value = NegativeBinomial> {
    (0.05..80.0_f64, 1.0..500.0_f64, 0.0..100.0_f64)
        .prop_map(|(size, rate, exposure)| uses(size, rate, exposure))
}

proptest! {
    #[test]
    fn probabilities_stay_probabilities(pieces in any_uses(), k in 0_u64..1 << 40) {
        for k in [0, 1, k] {
            for value in [pieces.pmf(k), pieces.cdf(k), pieces.sf(k)] {
                prop_assert!((0.0..=1.0 + 1e-12).contains(&value), "{value} at {k}");
            }
            prop_assert!((pieces.cdf(k) + pieces.sf(k) - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_quantile_is_the_smallest_count_that_is_enough(
        pieces in any_uses(),
        p in 0.0001..0.9999_f64,
    ) {
        let k = pieces.quantile(p);
        if k < special::COUNT_MAX {
            prop_assert!(pieces.sf(k) <= (1.0 - p) * (1.0 + 1e-12));
        }
        if k > 0 {
            prop_assert!(pieces.cdf(k - 1) < p * (1.0 + 1e-12));
        }
    }

    #[test]
    fn a_cdf_is_the_sum_of_its_probabilities(pieces in shop_uses(), k in 0_u64..120) {
        let sum: f64 = (0..=k).map(|i| pieces.pmf(i)).sum();
        prop_assert!((sum - pieces.cdf(k)).abs() < 1e-11, "{sum} and {}", pieces.cdf(k));
    }

    #[test]
    fn neighbouring_probabilities_keep_their_ratio(pieces in shop_uses(), k in 0_u64..120) {
        prop_assume!(pieces.exposure() > 1e-3 && pieces.pmf(k + 1) > 1e-290);
        let count = special::real(k);
        let ratio = pieces.q() * (pieces.size + count) / (count + 1.0);
        prop_assert!((pieces.pmf(k + 1) / pieces.pmf(k) / ratio - 1.0).abs() < 1e-11);
    }
}
