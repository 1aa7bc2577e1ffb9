//! What is known of two rates, against the closed form of the posterior and against numerical
//! integration over both rates. Most likely rates are compared in the reference tests.

use proptest::prelude::*;

use super::*;
use crate::wear::Gamma;

fn cell(first: f64, second: f64, events: u64) -> Cell {
    Cell {
        first,
        second,
        events,
    }
}

fn gamma(shape: f64, rate: f64) -> Gamma {
    Gamma::new(shape, rate).expect("a wear rate")
}

fn split(cells: &[Cell]) -> SplitRecord {
    let mut record = SplitRecord::new(1.0).expect("a record");
    for cell in cells {
        record.add(*cell).expect("a cell that can be");
    }
    record
}

/// Six days, of which the second saw only grinding and the fifth only hours.
const DAYS: [(f64, f64, u64); 6] = [
    (5.0, 3.0, 1),
    (0.0, 8.0, 2),
    (7.5, 2.0, 0),
    (6.0, 6.0, 3),
    (4.0, 0.0, 1),
    (3.0, 9.0, 0),
];

fn days() -> Vec<Cell> {
    DAYS.map(|(first, second, events)| cell(first, second, events))
        .to_vec()
}

/// The exact posterior: multiplied out, the likelihood is a sum over how many pieces are due to the
/// first driver, c(j) a^j b^(n-j) exp(-aE - bF), and each term is a product of two gammas. Returns
/// for each j its chance and the two gammas.
fn closed_form(cells: &[Cell], priors: [&Gamma; 2]) -> Vec<(f64, Gamma, Gamma)> {
    let mut coefficients = vec![1.0];
    let (mut first, mut second) = (0.0, 0.0);
    for cell in cells {
        first += cell.first;
        second += cell.second;
        for _ in 0..cell.events {
            let mut next = vec![0.0; coefficients.len() + 1];
            for (j, c) in coefficients.iter().enumerate() {
                next[j] += c * cell.second;
                next[j + 1] += c * cell.first;
            }
            coefficients = next;
        }
    }
    let events = coefficients.len() - 1;
    let terms: Vec<_> = coefficients
        .iter()
        .enumerate()
        .map(|(j, c)| {
            let a = priors[0].posterior(j as u64, first).expect("a gamma");
            let b = priors[1]
                .posterior((events - j) as u64, second)
                .expect("a gamma");
            let ln = |g: &Gamma| libm::lgamma(g.shape()) - g.shape() * g.rate().ln();
            (c * (ln(&a) + ln(&b)).exp(), a, b)
        })
        .collect();
    let total: f64 = terms.iter().map(|(w, ..)| w).sum();
    terms
        .into_iter()
        .map(|(w, a, b)| (w / total, a, b))
        .collect()
}

/// P(use = k) by the closed form: for each split the two uses are convolved.
fn closed_pmf(terms: &[(f64, Gamma, Gamma)], work: [f64; 2], k: u64) -> f64 {
    terms
        .iter()
        .map(|(weight, a, b)| {
            let first = a.predictive(work[0]).expect("a predictive");
            let second = b.predictive(work[1]).expect("a predictive");
            let both: f64 = (0..=k).map(|i| first.pmf(i) * second.pmf(k - i)).sum();
            weight * both
        })
        .sum()
}

#[test]
fn the_mixture_over_the_split_is_the_closed_form() {
    for (shape_a, shape_b) in [(0.5, 0.5), (0.5, 2.0), (1.0, 1.0), (3.0, 0.7)] {
        let priors = [&gamma(shape_a, 20.0), &gamma(shape_b, 30.0)];
        let exact = closed_form(&days(), priors);
        let known = split(&days()).posterior(priors).expect("a posterior");
        let means = known.means();
        let expected: f64 = exact.iter().map(|(w, a, _)| w * a.mean()).sum();
        assert!((means[0] / expected - 1.0).abs() < 1e-8, "{means:?}");
        for work in [[10.0, 0.0], [0.0, 12.0], [10.0, 12.0], [40.0, 5.0]] {
            let uses = known.mixture(work).expect("a mixture");
            for k in 0..12 {
                let expected = closed_pmf(&exact, work, k);
                let found = uses.pmf(k);
                assert!(
                    (found - expected).abs() < 1e-8,
                    "{shape_a} {shape_b} {work:?} {k}: {found} {expected}"
                );
            }
        }
    }
}

#[test]
fn a_long_record_whose_split_falls_between_the_nodes_is_as_exact() {
    // 400 pieces on days of two sorts: few nodes carry weight, so finer ones are put between.
    let sorts = [
        cell(6.0, 1.0, 220),
        cell(2.0, 9.0, 180),
        cell(900.0, 700.0, 0),
    ];
    let priors = [&gamma(0.5, 1.0), &gamma(0.5, 1.0)];
    // The coefficients of 400 pieces are too large to multiply out; integrate over both rates by
    // the midpoint rule instead, in logarithms, over six deviations about the most likely pair.
    let cells = Cells::new(sorts).expect("a record");
    let fit = cells
        .most_likely_with([&gamma(1.0, 1.0), &gamma(1.0, 1.0)])
        .expect("a mode");
    let spread = fit.covariance.expect("a covariance");
    let ln = |rates: [f64; 2]| {
        cells.ln_likelihood(rates) - rates[0] - rates[1] - 0.5 * (rates[0] * rates[1]).ln()
    };
    let (mut mass, mut sums) = (0.0, [0.0; 4]);
    for i in 0..400 {
        for j in 0..400 {
            let at = |k: u32, d: usize| {
                fit.rates[d] + (f64::from(k) - 199.5) / 199.5 * 7.0 * spread[d][d].sqrt()
            };
            let rates = [at(i, 0), at(j, 1)];
            if rates[0] > 0.0 && rates[1] > 0.0 {
                let weight = (ln(rates) - fit.ln_likelihood_without_factorials).exp();
                mass += weight;
                sums[0] += weight * rates[0];
                sums[1] += weight * rates[1];
                sums[2] += weight * rates[0] * rates[0];
                sums[3] += weight * rates[0] * rates[1];
            }
        }
    }
    let [a, b, square, product] = sums.map(|sum| sum / mass);
    let known = split(&sorts).posterior(priors).expect("a posterior");
    let (means, covariance) = (known.means(), known.covariance());
    assert!((means[0] / a - 1.0).abs() < 1e-4, "{means:?} {a}");
    assert!((means[1] / b - 1.0).abs() < 1e-4, "{means:?} {b}");
    assert!((covariance[0][0] / (square - a * a) - 1.0).abs() < 2e-3);
    assert!((covariance[0][1] / (product - a * b) - 1.0).abs() < 2e-3);
}

#[test]
fn one_negative_binomial_in_the_place_of_the_mixture_errs_by_less_than_half_a_percent() {
    // Against the closed form, over a short record (the hardest case) and work of several mixes.
    let priors = [&gamma(0.5, 20.0), &gamma(0.5, 20.0)];
    let exact = closed_form(&days(), priors);
    let known = split(&days()).posterior(priors).expect("a posterior");
    let mut worst = 0.0_f64;
    for work in [
        [10.0, 0.0],
        [0.0, 12.0],
        [10.0, 12.0],
        [60.0, 5.0],
        [5.0, 80.0],
    ] {
        let matched = known.predictive(work).expect("a predictive");
        let mut sum = 0.0;
        for k in 0..60 {
            sum += closed_pmf(&exact, work, k);
            worst = worst.max((matched.cdf(k) - sum).abs());
        }
    }
    assert!(worst < 0.005, "{worst}");
}

#[test]
fn with_one_driver_it_is_the_plain_gamma_poisson() {
    let hours = [cell(5.0, 0.0, 1), cell(7.25, 0.0, 2), cell(3.0, 0.0, 0)];
    let priors = [&gamma(1.5, 40.0), &gamma(2.0, 30.0)];
    let plain = priors[0].posterior(3, 15.25).expect("a posterior");
    let plain = plain.predictive(34.0).expect("a predictive");
    let known = split(&hours).posterior(priors).expect("a posterior");
    assert_eq!(known.predictive([34.0, 0.0]), Ok(plain));
    assert_eq!(known.mixture([34.0, 0.0]), Ok(plain.into()));
    let turned = hours.map(|c| cell(c.second, c.first, c.events));
    let known = split(&turned).posterior([priors[1], priors[0]]);
    let known = known.expect("a posterior");
    assert_eq!(known.predictive([0.0, 34.0]), Ok(plain));
    // The mean of both without any record is that of the priors.
    let empty = split(&[]).posterior(priors).expect("a posterior");
    let both = empty.mixture([34.0, 15.0]).expect("a mixture").mean();
    assert!((both - (1.5 / 40.0 * 34.0 + 1.0)).abs() < 1e-7, "{both}");
}

#[test]
fn what_cannot_be_is_refused() {
    let mut cells = Cells::default();
    for wrong in [-1.0, f64::NAN, 1.1e9] {
        assert!(matches!(
            cells.add(cell(wrong, 1.0, 0)),
            Err(TwoDriverError::Exposure(_))
        ));
        assert!(matches!(
            SplitRecord::new(1.0).and_then(|mut record| record.add(cell(1.0, wrong, 0))),
            Err(TwoDriverError::Exposure(_))
        ));
    }
    let sharp = gamma(0.4, 1.0);
    assert_eq!(
        cells.most_likely_with([&sharp, &sharp]),
        Err(TwoDriverError::Mode(0.4))
    );
    assert_eq!(
        split(&[]).posterior([&sharp, &sharp]),
        Err(TwoDriverError::Shape(0.4))
    );
    assert_eq!(SplitRecord::new(0.0), Err(TwoDriverError::Ratio(0.0)));
    let known = split(&days()).posterior([&gamma(1.0, 1.0), &gamma(1.0, 1.0)]);
    let known = known.expect("a posterior");
    assert!(known.mixture([f64::NAN, 1.0]).is_err());
    assert!(known.predictive([-1.0, 1.0]).is_err());
}

proptest! {
    #[test]
    fn equal_cells_may_be_given_as_one(
        first in 0.1..9.0_f64, second in 0.0..9.0_f64, events in prop::collection::vec(0_u64..3, 1..9),
    ) {
        let each = events.iter().map(|events| cell(first, second, *events));
        let each = Cells::new(each).expect("a record");
        prop_assert!(each.len() <= 1);
        let days = special::real(events.len() as u64);
        let whole = cell(first * days, second * days, events.iter().sum());
        let one = Cells::new([whole]).expect("a record");
        // One sort of day cannot tell the drivers apart, but their sum it can.
        let use_of = |cells: &Cells| {
            let rates = cells.most_likely().rates;
            rates[0] * first + rates[1] * second
        };
        prop_assert!((use_of(&each) - use_of(&one)).abs() < 1e-9);
    }

    #[test]
    fn scaling_whole_cells_is_scaling_the_sums(factor in 0.3..3.0_f64) {
        let priors = [&gamma(0.5, 20.0), &gamma(1.0, 20.0)];
        let scaled: Vec<Cell> = days()
            .iter()
            .map(|c| cell(factor * c.first, factor * c.second, c.events))
            .collect();
        let scaled = split(&scaled);
        let swapped = split(&days()).with_exposures(scaled.exposures()).expect("a record");
        let means = |record: &SplitRecord| record.posterior(priors).expect("a posterior").means();
        let (one, other) = (means(&scaled), means(&swapped));
        prop_assert!((one[0] / other[0] - 1.0).abs() < 1e-9);
        prop_assert!((one[1] / other[1] - 1.0).abs() < 1e-9);
    }
}
