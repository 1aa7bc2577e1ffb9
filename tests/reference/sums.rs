//! Sums of independent counts, and counts that go in clumps, against 60-digit values.

use std::collections::BTreeMap;

use domain::predictive::{CountTable, NegativeBinomial, TableError};
use serde::Deserialize;

use crate::assert_close;

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
    components: Vec<Component>,
}

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum Component {
    Nb { size: f64, prob: f64 },
    Poisson { mean: f64 },
    NbPack { size: f64, prob: f64, units: usize },
    NbGeometric { size: f64, prob: f64, geom_p: f64 },
}

#[derive(Deserialize)]
struct Expected {
    mean: f64,
    variance: f64,
    pmf: BTreeMap<String, f64>,
    cdf: BTreeMap<String, f64>,
    quantiles: BTreeMap<String, u64>,
}

fn uses(size: f64, prob: f64) -> NegativeBinomial {
    NegativeBinomial::new(size, prob, 1.0 - prob).expect("a predictive")
}

/// The chances of 1, 2, ... pieces where each further piece comes with the same chance, as far as a number holds
/// them.
fn geometric(p: f64) -> Vec<f64> {
    std::iter::successors(Some(p), |chance| Some(chance * (1.0 - p)))
        .take_while(|chance| *chance > 1e-18)
        .collect()
}

impl Component {
    fn table(&self) -> Result<CountTable, TableError> {
        match *self {
            Self::Nb { size, prob } => CountTable::of(&uses(size, prob)),
            Self::Poisson { mean } => CountTable::poisson(mean),
            Self::NbPack { size, prob, units } => {
                let mut pieces = vec![0.0; units];
                pieces[units - 1] = 1.0;
                CountTable::in_clumps(&uses(size, prob), &pieces)
            }
            Self::NbGeometric { size, prob, geom_p } => {
                CountTable::in_clumps(&uses(size, prob), &geometric(geom_p))
            }
        }
    }
}

#[test]
fn sums_of_counts_are_exact() {
    let text = include_str!("data/gamma_poisson.json");
    let vectors: Vectors = serde_json::from_str(text).expect("the vectors are readable");
    let cases = vectors
        .cases
        .into_iter()
        .filter(|case| case.kind == "compound_sum");
    let mut compared = 0;
    for case in cases {
        let id = &case.id;
        let input: Input = serde_json::from_value(case.input).expect("an input");
        let expected: Expected = serde_json::from_value(case.expected).expect("expected values");
        let sum = input
            .components
            .iter()
            .try_fold(CountTable::nothing(), |sum, component| {
                sum.plus(&component.table()?)
            });
        let sum = sum.expect("a table");
        assert_close(sum.mean(), expected.mean, 1e-12, id);
        assert_close(sum.variance(), expected.variance, 1e-11, id);
        for (k, mass) in &expected.pmf {
            let found = sum.pmf(k.parse().expect("a count"));
            assert_close(found, *mass, 1e-12, &format!("{id}, P(K = {k})"));
        }
        for (k, mass) in &expected.cdf {
            let found = sum.cdf(k.parse().expect("a count"));
            assert_close(found, *mass, 1e-12, &format!("{id}, P(K <= {k})"));
        }
        for (p, k) in &expected.quantiles {
            let found = sum.quantile(p.parse().expect("a probability"));
            assert_eq!(found, *k, "{id} at {p}");
        }
        compared += 1;
    }
    assert_eq!(compared, 12);
}
