//! Probabilities and both tails over eight decades of shape, rate and exposure, against values
//! computed with 40 digits (`data/negative_binomial.csv`).

use domain::predictive::NegativeBinomial;

use crate::assert_close;

const DATA: &str = include_str!("data/negative_binomial.csv");

/// Where a tiny shape meets a long exposure, the small upper tail is one minus the lower one.
const TOLERANCE: f64 = 1e-10;

#[test]
fn single_chances_and_tails_agree_over_the_whole_range() {
    let mut rows = 0;
    for line in DATA.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let [size, rate, exposure, k, pmf, cdf, sf] = fields.as_slice() else {
            panic!("seven fields in {line}");
        };
        let number = |text: &str| text.parse::<f64>().expect("a number");
        let uses =
            NegativeBinomial::new(number(size), number(rate), number(exposure)).expect("in range");
        let k: u64 = k.parse().expect("a count");
        assert_close(uses.pmf(k), number(pmf), TOLERANCE, &format!("pmf, {line}"));
        assert_close(uses.cdf(k), number(cdf), TOLERANCE, &format!("cdf, {line}"));
        assert_close(uses.sf(k), number(sf), TOLERANCE, &format!("sf, {line}"));
        rows += 1;
    }
    assert_eq!(rows, 240);
}
