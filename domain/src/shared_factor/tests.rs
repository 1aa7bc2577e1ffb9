//! The points of the factor against its moments, which are known in closed form.

use proptest::prelude::*;

use super::*;

fn mean_of(spread: f64, of: impl Fn(f64) -> f64) -> f64 {
    let nodes = SharedFactor::new(spread).expect("a spread").nodes();
    nodes.iter().map(|node| node.weight * of(node.factor)).sum()
}

#[test]
fn without_spread_there_is_one_point_at_one() {
    let node = Node {
        factor: 1.0,
        weight: 1.0,
    };
    assert_eq!(SharedFactor::NONE.nodes(), [node]);
    assert_eq!(SharedFactor::new(1e-7).unwrap().nodes(), [node]);
    assert_eq!(SharedFactor::default(), SharedFactor::NONE);
}

#[test]
fn a_spread_out_of_range_names_itself() {
    for spread in [-0.1, 1.1, f64::NAN, f64::INFINITY] {
        let error = SharedFactor::new(spread).unwrap_err();
        assert!(error.to_string().contains("from 0"), "{error}");
    }
}

#[test]
fn the_transform_of_the_density_is_met() {
    // E(e^(-t f)) = (1 + t s^2)^(-1/s^2) for Gamma(1/s^2, 1/s^2).
    for spread in [0.05_f64, 0.2, 0.5, 0.8, 1.0] {
        for t in [0.1_f64, 1.0, 5.0, 20.0, 100.0] {
            let expected = (-(t * spread * spread).ln_1p() / (spread * spread)).exp();
            let found = mean_of(spread, |factor| (-t * factor).exp());
            assert!(
                (found - expected).abs() < 1e-9,
                "{spread} {t}: {found} {expected}"
            );
        }
    }
}

proptest! {
    #[test]
    fn mean_variance_and_skewness_are_those_of_the_gamma(spread in 0.001..=1.0_f64) {
        prop_assert!((mean_of(spread, |_| 1.0) - 1.0).abs() < 1e-12);
        prop_assert!((mean_of(spread, |factor| factor) - 1.0).abs() < 1e-11);
        let variance = mean_of(spread, |factor| (factor - 1.0).powi(2));
        prop_assert!((variance / (spread * spread) - 1.0).abs() < 1e-8);
        // The third central moment of Gamma(k, k) is 2/k^2.
        let third = mean_of(spread, |factor| (factor - 1.0).powi(3));
        prop_assert!((third / (2.0 * spread.powi(4)) - 1.0).abs() < 1e-4);
    }

    #[test]
    fn factors_rise_and_are_above_zero(spread in 0.001..=1.0_f64) {
        let nodes = SharedFactor::new(spread).unwrap().nodes();
        prop_assert!(nodes[0].factor > 0.0);
        prop_assert!(nodes.windows(2).all(|pair| pair[0].factor < pair[1].factor));
        prop_assert!(nodes.iter().all(|node| (0.0..=1.0).contains(&node.weight)));
    }
}
