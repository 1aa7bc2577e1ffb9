//! Wear by two drivers: most likely rates against optima found in 40-digit arithmetic.

use domain::wear::Gamma;
use domain::wear::two_drivers::{Cell, Cells, Fit, SplitRecord, TwoDriverError};
use serde::Deserialize;

#[derive(Deserialize)]
struct Vectors {
    tol: Tolerance,
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Tolerance {
    params: f64,
    log_likelihood: f64,
}

#[derive(Deserialize)]
struct Case {
    id: String,
    input: Input,
    expected: Expected,
}

#[derive(Deserialize)]
struct Input {
    hours: Vec<f64>,
    grinds: Vec<f64>,
    events: Vec<u64>,
    prior_a: Prior,
    prior_b: Prior,
}

#[derive(Deserialize)]
struct Prior {
    shape: f64,
    rate: f64,
}

#[derive(Deserialize)]
struct Expected {
    ml: Optimum,
    map: Optimum,
    map_exponential_priors: Optimum,
}

#[derive(Deserialize)]
struct Optimum {
    a: f64,
    b: f64,
    on_boundary: Vec<String>,
    log_likelihood: f64,
    log_likelihood_without_factorials: f64,
    log_posterior_unnormalised: Option<f64>,
    gradient: [f64; 2],
    covariance_from_observed_information: Option<[[f64; 2]; 2]>,
}

fn vectors() -> Vectors {
    let text = include_str!("data/additive_poisson.json");
    let vectors: Vectors = serde_json::from_str(text).expect("the vectors are readable");
    assert_eq!(vectors.cases.len(), 8);
    vectors
}

fn cells(input: &Input) -> Vec<Cell> {
    let exposures = input.hours.iter().zip(&input.grinds);
    exposures
        .zip(&input.events)
        .map(|((first, second), events)| Cell {
            first: *first,
            second: *second,
            events: *events,
        })
        .collect()
}

/// Equal to a relative tolerance, and absolutely below one.
#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64, what: &str) {
    let allowed = tolerance * expected.abs().max(1.0);
    assert!(
        (found - expected).abs() <= allowed,
        "{what}: found {found:e}, expected {expected:e}"
    );
}

#[track_caller]
fn meets(found: &Fit, expected: &Optimum, tolerance: &Tolerance, what: &str) {
    for (rate, told) in found.rates.iter().zip([expected.a, expected.b]) {
        crate::assert_close(*rate, told, tolerance.params, what);
    }
    for (at_zero, name) in found.at_zero.iter().zip(["a", "b"]) {
        let told = expected.on_boundary.iter().any(|on| on == name);
        // A rate that is not at its bound and is still zero does not exist.
        assert_eq!(*at_zero, told, "{what}: {name} at its bound");
    }
    let ln = tolerance.log_likelihood;
    near(found.ln_likelihood, expected.log_likelihood, ln, what);
    let bare = expected.log_likelihood_without_factorials;
    near(found.ln_likelihood_without_factorials, bare, ln, what);
    if let Some(posterior) = expected.log_posterior_unnormalised {
        near(found.ln_objective, posterior, ln, what);
    }
    for (slope, told) in found.gradient.iter().zip(expected.gradient) {
        // Slopes are differences of numbers as large as the exposures, up to some ten thousand.
        near(*slope, told, 1e-7, &format!("{what}: slope"));
    }
    let told = expected.covariance_from_observed_information;
    assert_eq!(found.covariance.is_some(), told.is_some(), "{what}");
    for (row, told) in found.covariance.iter().flatten().zip(told.iter().flatten()) {
        for (value, told) in row.iter().zip(told) {
            let least = 1e-8 * found.covariance.map_or(0.0, |c| c[0][0].min(c[1][1]));
            let difference = (value - told).abs();
            assert!(
                difference <= tolerance.params * told.abs().max(least),
                "{what}: covariance {value:e}, expected {told:e}"
            );
        }
    }
}

#[test]
fn most_likely_rates_are_those_of_exact_arithmetic_also_at_the_bounds() {
    let Vectors { tol, cases } = vectors();
    for case in cases {
        let record = Cells::new(cells(&case.input)).expect("a record");
        meets(
            &record.most_likely(),
            &case.expected.ml,
            &tol,
            &format!("{} without priors", case.id),
        );
        let Input {
            prior_a, prior_b, ..
        } = &case.input;
        for (shapes, expected, what) in [
            (
                [prior_a.shape, prior_b.shape],
                &case.expected.map,
                "with priors",
            ),
            (
                [1.0, 1.0],
                &case.expected.map_exponential_priors,
                "with exponential priors",
            ),
        ] {
            let first = Gamma::new(shapes[0], prior_a.rate).expect("a prior");
            let second = Gamma::new(shapes[1], prior_b.rate).expect("a prior");
            let found = record.most_likely_with([&first, &second]).expect("a mode");
            meets(&found, expected, &tol, &format!("{} {what}", case.id));
        }
    }
}

#[test]
fn a_record_in_any_order_and_grouping_has_the_same_most_likely_rates() {
    for case in vectors().cases {
        let mut turned = cells(&case.input);
        turned.reverse();
        turned.push(Cell {
            first: 0.0,
            second: 0.0,
            events: 0,
        });
        let record = Cells::new(turned).expect("a record");
        let with_use: u64 = case.input.events.iter().sum();
        assert_eq!(record.events(), with_use);
        crate::assert_close(
            record.most_likely().rates[0],
            case.expected.ml.a,
            1e-8,
            &case.id,
        );
    }
}

#[test]
fn use_without_any_exposure_contradicts_itself() {
    // The conventions of the vectors: such a day has likelihood zero, so no rates explain it.
    let cell = Cell {
        first: 0.0,
        second: 0.0,
        events: 2,
    };
    let expected = TwoDriverError::Contradiction { events: 2 };
    assert_eq!(Cells::new([cell]), Err(expected));
    let mut split = SplitRecord::new(1.0).expect("a record");
    assert_eq!(split.add(cell), Err(expected));
}
