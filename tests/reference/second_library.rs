//! Predictives of everyday size against the statrs crate, on a grid that nobody picked by hand.

use domain::predictive::NegativeBinomial as Uses;
use domain::wear::Gamma as Wear;
use statrs::distribution::{
    ContinuousCDF, Discrete, DiscreteCDF, Gamma as OtherGamma, NegativeBinomial as Other,
};

/// Shapes, rates and exposures of a small shop.
const SHAPES: [f64; 6] = [0.5, 1.0, 2.5, 7.5, 20.0, 60.0];
const RATES: [f64; 4] = [3.0, 40.0, 220.0, 460.0];
const EXPOSURES: [f64; 5] = [1.0, 8.0, 24.0, 34.0, 100.0];

fn grid() -> impl Iterator<Item = (f64, f64, f64)> {
    SHAPES.into_iter().flat_map(|shape| {
        RATES.into_iter().flat_map(move |rate| {
            EXPOSURES
                .into_iter()
                .map(move |exposure| (shape, rate, exposure))
        })
    })
}

#[test]
fn everyday_probabilities_agree() {
    for (shape, rate, exposure) in grid() {
        let ours = Uses::new(shape, rate, exposure).expect("a predictive");
        let other = Other::new(shape, rate / (rate + exposure)).expect("a distribution");
        for k in [0, 1, 2, 3, 5, 9, 15, 30] {
            let (found, expected) = (ours.pmf(k), other.pmf(k));
            assert!(
                (found - expected).abs() <= 1e-9 * expected,
                "pmf({k}) of {shape}, {rate}, {exposure}: {found:e}, {expected:e}"
            );
            let (found, expected) = (ours.cdf(k), other.cdf(k));
            assert!(
                (found - expected).abs() <= 1e-9 * expected,
                "cdf({k}) of {shape}, {rate}, {exposure}: {found:e}, {expected:e}"
            );
        }
    }
}

#[test]
fn a_need_is_enough_by_the_other_cdf_and_one_less_is_not() {
    for (shape, rate, exposure) in grid() {
        let ours = Uses::new(shape, rate, exposure).expect("a predictive");
        let other = Other::new(shape, rate / (rate + exposure)).expect("a distribution");
        for target in [0.5, 0.8, 0.95, 0.99, 0.999] {
            let need = ours.quantile(target);
            assert!(
                other.cdf(need) >= target - 1e-9,
                "{shape}, {rate}, {exposure}, {target}"
            );
            if let Some(less) = need.checked_sub(1) {
                assert!(
                    other.cdf(less) < target + 1e-9,
                    "{shape}, {rate}, {exposure}, {target}"
                );
            }
        }
    }
}

#[test]
fn quantiles_of_wear_rates_lead_back_through_the_other_cdf() {
    for shape in SHAPES {
        for rate in RATES {
            let ours = Wear::new(shape, rate).expect("a wear rate");
            let other = OtherGamma::new(shape, rate).expect("a distribution");
            for p in [0.01, 0.05, 0.5, 0.95, 0.99] {
                let back = other.cdf(ours.quantile(p));
                assert!((back - p).abs() < 1e-9, "{shape}, {rate} at {p}: {back}");
            }
        }
    }
}
