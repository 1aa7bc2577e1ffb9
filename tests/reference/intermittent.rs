//! Croston's method and its kin against another library's forecasts, and the sort of use against the
//! published cuts.

use std::collections::BTreeMap;

use domain::intermittent::{
    Croston, Smoothing, Tsb, croston, croston_optimised, pattern, sba, tsb,
};
use serde::Deserialize;

use crate::assert_close;

#[derive(Deserialize)]
struct Vectors {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    id: String,
    input: Input,
    expected: Expected,
}

#[derive(Deserialize)]
struct Input {
    y: Vec<f64>,
}

#[derive(Deserialize)]
struct Expected {
    croston_classic: f64,
    croston_sba: f64,
    croston_optimized: f64,
    tsb: BTreeMap<String, f64>,
    optimized_alpha_demand: Option<f64>,
    optimized_alpha_interval: Option<f64>,
    classification: Option<Classification>,
    fitted_classic: Option<Vec<Option<f64>>>,
    #[serde(rename = "fitted_tsb_0.1_0.1")]
    fitted_tsb: Option<Vec<Option<f64>>>,
    r_forecast_croston: Option<f64>,
}

#[derive(Deserialize)]
struct Classification {
    adi: Interval,
    cv2: Variation,
    class_periods_population: String,
}

#[derive(Deserialize)]
struct Interval {
    periods_over_demands: f64,
}

#[derive(Deserialize)]
struct Variation {
    population: f64,
}

fn cases() -> Vec<Case> {
    let text = include_str!("data/intermittent.json");
    let vectors: Vectors = serde_json::from_str(text).expect("the vectors are readable");
    assert_eq!(vectors.cases.len(), 16);
    vectors.cases
}

fn alpha(text: &str) -> Smoothing {
    Smoothing::new(text.parse().expect("a number")).expect("a smoothing constant")
}

#[test]
fn forecasts_are_those_of_another_library() {
    let mut by_r = 0;
    for Case {
        id,
        input,
        expected,
    } in cases()
    {
        let y = &input.y;
        assert_close(croston(y), expected.croston_classic, 1e-12, &id);
        assert_close(sba(y), expected.croston_sba, 1e-12, &id);
        assert_eq!(expected.tsb.len(), 3, "{id}");
        for (alphas, forecast) in &expected.tsb {
            let (sizes, chances) = alphas.split_once('/').expect("two constants");
            let found = tsb(y, alpha(sizes), alpha(chances));
            assert_close(found, *forecast, 1e-12, &format!("{id}, {alphas}"));
        }
        if let Some(forecast) = expected.r_forecast_croston {
            by_r += 1;
            assert_close(croston(y), forecast, 1e-12, &format!("{id}, by R"));
        }
    }
    assert!(by_r >= 10, "only {by_r} cases were held against R");
}

#[test]
fn optimised_constants_are_those_of_another_library() {
    let mut without_use = Vec::new();
    for Case {
        id,
        input,
        expected,
    } in cases()
    {
        let Some(found) = croston_optimised(&input.y) else {
            assert_eq!(expected.croston_optimized.to_bits(), 0, "{id}");
            without_use.push(id);
            continue;
        };
        assert_close(found.forecast, expected.croston_optimized, 1e-8, &id);
        let alphas = [
            (found.size_alpha, expected.optimized_alpha_demand),
            (found.interval_alpha, expected.optimized_alpha_interval),
        ];
        for (alpha, expected) in alphas {
            let expected = expected.expect("a constant");
            assert!((alpha - expected).abs() < 1e-6, "{id}: {alpha} {expected}");
        }
    }
    assert_eq!(without_use, ["all-zero"]);
}

/// Before the first period there is no forecast; from then on each is compared.
fn assert_fitted(
    id: &str,
    record: &[f64],
    expected: &[Option<f64>],
    mut next: impl FnMut(f64) -> f64,
) {
    assert_eq!(record.len(), expected.len(), "{id}");
    assert_eq!(expected[0], None, "{id}");
    for (at, (used, fitted)) in record.iter().zip(&expected[1..]).enumerate() {
        let fitted = fitted.expect("a fitted value");
        let found = next(*used);
        assert!(
            (found - fitted).abs() <= 1e-12 * fitted.max(1.0),
            "{id} after {at}: {found}, expected {fitted}"
        );
    }
}

#[test]
fn each_period_is_forecast_from_those_before_it() {
    let (mut croston_cases, mut tsb_cases) = (0, 0);
    for Case {
        id,
        input,
        expected,
    } in cases()
    {
        if let Some(fitted) = expected.fitted_classic {
            croston_cases += 1;
            let mut state = Croston::new(Smoothing::USUAL);
            assert_fitted(&id, &input.y, &fitted, |used| {
                state.observe(used);
                state.forecast()
            });
        }
        if let Some(fitted) = expected.fitted_tsb {
            tsb_cases += 1;
            let mut state = Tsb::new(Smoothing::USUAL, Smoothing::USUAL);
            assert_fitted(&id, &input.y, &fitted, |used| {
                state.observe(used);
                state.forecast()
            });
        }
    }
    assert!(
        croston_cases >= 8 && tsb_cases >= 8,
        "{croston_cases} {tsb_cases}"
    );
}

#[test]
fn patterns_of_use_are_those_of_the_published_cuts() {
    for Case {
        id,
        input,
        expected,
    } in cases()
    {
        let (found, expected) = (pattern(&input.y), expected.classification);
        assert_eq!(found.is_some(), expected.is_some(), "{id}");
        if let (Some(found), Some(expected)) = (found, expected) {
            assert_close(
                found.interval,
                expected.adi.periods_over_demands,
                1e-12,
                &id,
            );
            let variation = expected.cv2.population;
            assert!((found.squared_variation - variation).abs() <= 1e-12, "{id}");
            assert_eq!(
                found.kind.as_str(),
                expected.class_periods_population,
                "{id}"
            );
        }
    }
}
