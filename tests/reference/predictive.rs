//! Wear rates and predictives against 60-digit values, from everyday figures to extreme ones.

use std::collections::BTreeMap;

use domain::predictive::NegativeBinomial;
use domain::wear::Gamma;
use serde::Deserialize;

#[derive(Deserialize)]
struct Vectors {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    id: String,
    kind: String,
    input: serde_json::Value,
    expected: serde_json::Value,
}

#[derive(Deserialize)]
struct Input {
    prior_shape: f64,
    prior_rate: f64,
    events: u64,
    exposure: f64,
    future_exposure: f64,
}

#[derive(Deserialize)]
struct Expected {
    posterior_shape: f64,
    posterior_rate: f64,
    posterior_mean: f64,
    predictive_mean: f64,
    predictive_sd: f64,
    pmf: BTreeMap<String, f64>,
    cdf: BTreeMap<String, f64>,
    sf: BTreeMap<String, f64>,
    quantiles: BTreeMap<String, u64>,
    rate_quantiles: BTreeMap<String, f64>,
    log_pmf_at_0: f64,
    log_pmf_at_max_k: f64,
}

/// One case with what it predicts by our own computation.
struct Subject {
    id: String,
    input: Input,
    expected: Expected,
    wear: Gamma,
    uses: NegativeBinomial,
}

/// The 22 gamma-Poisson cases of the file; its other kinds have no counterpart here.
fn subjects() -> Vec<Subject> {
    let text = include_str!("data/gamma_poisson.json");
    let vectors: Vectors = serde_json::from_str(text).expect("the vectors are readable");
    let subjects: Vec<Subject> = vectors
        .cases
        .into_iter()
        .filter(|case| case.kind == "gamma_poisson")
        .map(|case| {
            let input: Input = serde_json::from_value(case.input).expect("an input");
            let expected: Expected =
                serde_json::from_value(case.expected).expect("expected values");
            let wear =
                Gamma::new(expected.posterior_shape, expected.posterior_rate).expect("a wear rate");
            let uses = wear
                .predictive(input.future_exposure)
                .expect("a predictive");
            Subject {
                id: case.id,
                input,
                expected,
                wear,
                uses,
            }
        })
        .collect();
    assert_eq!(subjects.len(), 22);
    subjects
}

/// Every entry of a table keyed by count: found and expected agree to `tolerance`, relatively.
fn assert_table(
    id: &str,
    table: &BTreeMap<String, f64>,
    tolerance: f64,
    found: impl Fn(u64) -> f64,
) {
    assert!(!table.is_empty(), "{id} has nothing to compare");
    for (k, expected) in table {
        let found = found(k.parse().expect("a count"));
        assert!(
            (found - expected).abs() <= tolerance * expected.abs(),
            "{id} at {k}: {found:e}, expected {expected:e}"
        );
    }
}

#[test]
fn posteriors_add_events_to_the_shape_and_exposure_to_the_rate() {
    let mut refused = Vec::new();
    for Subject {
        id,
        input,
        expected,
        ..
    } in subjects()
    {
        let Ok(prior) = Gamma::new(input.prior_shape, input.prior_rate) else {
            refused.push(id);
            continue;
        };
        let posterior = prior
            .posterior(input.events, input.exposure)
            .expect("a posterior");
        assert!(
            (posterior.shape() / expected.posterior_shape - 1.0).abs() < 1e-14,
            "{id}"
        );
        assert!(
            (posterior.rate() / expected.posterior_rate - 1.0).abs() < 1e-14,
            "{id}"
        );
        assert!(
            (posterior.mean() / expected.posterior_mean - 1.0).abs() < 1e-14,
            "{id}"
        );
    }
    // A prior rate of 0 and one of 1e-9: improper or all but improper, and refused on purpose.
    assert_eq!(refused, ["gp-11", "gp-16"]);
}

#[test]
fn means_and_deviations_are_those_of_the_predictive() {
    for Subject {
        id, expected, uses, ..
    } in subjects()
    {
        assert!(
            (uses.mean() / expected.predictive_mean - 1.0).abs() < 1e-13,
            "{id}"
        );
        assert!(
            (uses.variance().sqrt() / expected.predictive_sd - 1.0).abs() < 1e-13,
            "{id}"
        );
    }
}

#[test]
fn probabilities_agree_to_ten_digits() {
    for Subject {
        id, expected, uses, ..
    } in subjects()
    {
        assert_table(&id, &expected.pmf, 1e-10, |k| uses.pmf(k));
        assert_table(&id, &expected.cdf, 1e-10, |k| uses.cdf(k));
        assert_table(&id, &expected.sf, 1e-10, |k| uses.sf(k));
    }
}

#[test]
fn logarithms_of_probabilities_agree_where_the_probabilities_are_extreme() {
    for Subject {
        id, expected, uses, ..
    } in subjects()
    {
        let counts = expected.pmf.keys().map(|k| k.parse().expect("a count"));
        let largest: u64 = counts.max().expect("a largest count");
        let at_zero = (uses.ln_pmf(0), expected.log_pmf_at_0);
        let at_largest = (uses.ln_pmf(largest), expected.log_pmf_at_max_k);
        for (found, expected) in [at_zero, at_largest] {
            let allowed = 1e-10 * expected.abs().max(1.0);
            assert!(
                (found - expected).abs() <= allowed,
                "{id}: {found}, expected {expected}"
            );
        }
    }
}

#[test]
fn quantiles_are_exact_whole_numbers() {
    for Subject {
        id, expected, uses, ..
    } in subjects()
    {
        for (p, k) in &expected.quantiles {
            let found = uses.quantile(p.parse().expect("a probability"));
            assert_eq!(found, *k, "{id} at {p}");
        }
    }
}

#[test]
fn quantiles_of_wear_rates_agree_to_nine_digits() {
    for Subject {
        id, expected, wear, ..
    } in subjects()
    {
        for (p, rate) in &expected.rate_quantiles {
            let found = wear.quantile(p.parse().expect("a probability"));
            // Tiny shapes have quantiles below the smallest number; they are 0 on both sides.
            let allowed = (1e-9 * rate).max(f64::MIN_POSITIVE);
            assert!(
                (found - rate).abs() <= allowed,
                "{id} at {p}: {found:e}, expected {rate:e}"
            );
        }
    }
}
