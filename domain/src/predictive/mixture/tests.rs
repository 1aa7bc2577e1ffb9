//! Mixtures with closed forms, and what must hold for any.

use proptest::prelude::*;

use super::*;
use crate::wear::Gamma;

fn geometric(ratio: f64) -> NegativeBinomial {
    // Gamma(1, 1) over T: P(use > k) = (T / (1 + T))^(k+1).
    NegativeBinomial::new(1.0, 1.0, ratio / (1.0 - ratio)).expect("a predictive")
}

fn near(found: f64, expected: f64) -> bool {
    (found - expected).abs() <= 1e-12 * expected.abs()
}

#[test]
fn two_geometric_laws_mix_as_their_tails_do() {
    // P(use > k) = (3 (1/2)^(k+1) + (3/4)^(k+1)) / 4.
    let mixed = Mixture::new([(3.0, geometric(0.5)), (1.0, geometric(0.75))]).expect("a mixture");
    let tail = |k: i32| (3.0 * 0.5_f64.powi(k + 1) + 0.75_f64.powi(k + 1)) / 4.0;
    for k in 0..60_i32 {
        let count = u64::from(k.unsigned_abs());
        assert!(near(mixed.sf(count), tail(k)), "{k}");
        assert!(near(mixed.cdf(count), 1.0 - tail(k)), "{k}");
        assert!(near(mixed.pmf(count), tail(k - 1) - tail(k)), "{k}");
    }
    // Means 1 and 3, variances 2 and 12: mean 3/2, variance 9/2 + 3/4.
    assert!(near(mixed.mean(), 1.5) && near(mixed.variance(), 5.25));
    // Tails from zero on, by the formula: .562, .328, .199, .126, .083, .056, .041; .95 is first
    // reached by 6.
    assert!(tail(5) > 0.05 && tail(6) <= 0.05);
    assert_eq!(mixed.quantile(0.95), 6);
    // 1 - .4375 is 9/16, which 0 pieces reach exactly.
    assert_eq!(mixed.quantile(0.4375), 0);
    assert_eq!(
        mixed.quantiles(&[0.95, 0.4375, 0.0, f64::NAN, 0.4376]),
        [6, 0, 0, 1 << 53, 1]
    );
}

#[test]
fn a_mixture_of_one_is_that_one() {
    let single = NegativeBinomial::new(60.0, 430.0, 34.0).expect("a predictive");
    let mixed = Mixture::new([(0.25, single), (0.0, geometric(0.5)), (0.5, single)]);
    let mixed = mixed.expect("a mixture");
    assert_eq!(mixed.components().len(), 2);
    for k in 0..40 {
        assert!(near(mixed.pmf(k), single.pmf(k)) && near(mixed.sf(k), single.sf(k)));
    }
    for p in [0.05, 0.5, 0.9, 0.95, 0.9999] {
        assert_eq!(mixed.quantile(p), single.quantile(p));
        assert_eq!(Mixture::from(single).quantile(p), single.quantile(p));
    }
}

#[test]
fn far_quantiles_are_as_exact_as_near_ones() {
    // Half is spread over Gamma(1, 1) with ratio 1 - 1/1001, half never happens beyond a few: the
    // tail is (1000/1001)^(k+1) / 2 there, so k + 1 is a quotient of logarithms.
    let wide = NegativeBinomial::new(1.0, 1.0, 1_000.0).expect("a predictive");
    let mixed = Mixture::new([(1.0, wide), (1.0, geometric(0.01))]).expect("a mixture");
    for p in [0.9_f64, 0.99, 0.999] {
        let wanted: f64 = (2.0 * (1.0 - p)).ln() / (1_000.0_f64 / 1_001.0).ln();
        assert_eq!(mixed.quantile(p), count_at_or_below(wanted.ceil()) - 1);
    }
}

#[test]
fn weights_that_are_none_are_refused() {
    let uses = geometric(0.5);
    for weight in [-1.0, f64::INFINITY] {
        assert_eq!(
            Mixture::new([(1.0, uses), (weight, uses)]),
            Err(MixtureError::Weight(weight))
        );
    }
    assert!(matches!(
        Mixture::new([(f64::NAN, uses)]),
        Err(MixtureError::Weight(_))
    ));
    assert_eq!(Mixture::new([]), Err(MixtureError::Total(0.0)));
    assert_eq!(Mixture::new([(0.0, uses)]), Err(MixtureError::Total(0.0)));
    assert!(Mixture::new([(f64::MAX, uses), (f64::MAX, uses)]).is_err());
}

#[test]
fn a_table_of_chances_ends_where_the_tail_does() {
    let halves = Mixture::from(geometric(0.5));
    let table = halves.cdf_table(0.01, 1_000);
    // 2^-7 is the first power below a hundredth: k = 6.
    assert_eq!(table.len(), 7);
    assert!(near(table[0], 0.5) && near(table[6], 1.0 - 0.5_f64.powi(7)));
    assert_eq!(halves.cdf_table(0.0, 5).len(), 5);
}

/// A few components of any kind a shop may meet, some far apart.
fn any_mixture() -> impl Strategy<Value = Mixture> {
    let component = (0.01..1.0_f64, -2.0..4.0_f64, -2.0..4.0_f64, -3.0..4.0_f64);
    prop::collection::vec(component, 1..8).prop_map(|components| {
        let each = components.into_iter().map(|(weight, a, b, t)| {
            let wear = Gamma::new(10_f64.powf(a), 10_f64.powf(b)).expect("a wear rate");
            let uses = wear.predictive(10_f64.powf(t)).expect("a predictive");
            (weight, uses)
        });
        Mixture::new(each).expect("a mixture")
    })
}

proptest! {
    #[test]
    fn a_quantile_is_the_smallest_count_that_is_enough(
        uses in any_mixture(),
        p in 0.0001..0.9999_f64,
    ) {
        let k = uses.quantile(p);
        prop_assert!(uses.sf(k) <= (1.0 - p) * (1.0 + 1e-12));
        prop_assert!(k == 0 || uses.cdf(k - 1) < p * (1.0 + 1e-12));
        let several = uses.quantiles(&[p, 0.5, 0.99]);
        prop_assert_eq!(several, [p, 0.5, 0.99].map(|p| uses.quantile(p)));
    }
}

/// Against the exact sum, term by term.
#[test]
fn a_sum_matched_in_mean_and_variance_errs_by_less_than_a_hundredth() {
    use crate::predictive::CountTable;
    let law =
        |shape: f64, mean: f64| NegativeBinomial::new(shape, 1.0, mean / shape).expect("a law");
    for (one, other) in [
        (law(54.0, 4.0), law(3.0, 1.5)),
        (law(10.0, 12.0), law(2.0, 0.4)),
        (law(5.0, 0.3), law(8.0, 6.0)),
    ] {
        let matched = Mixture::from(one).and(&other.into()).expect("a sum");
        let tables = [&one, &other].map(|uses| CountTable::of(uses).expect("a table"));
        let exact = tables[0].plus(&tables[1]).expect("a sum");
        assert!(near(matched.mean(), one.mean() + other.mean()));
        let variance = one.variance() + other.variance();
        assert!((matched.variance() - variance).abs() < 1e-9 * variance);
        let off = (0..60).map(|k| (matched.cdf(k) - exact.cdf(k)).abs());
        let off = off.fold(0.0, f64::max);
        assert!(off > 0.0 && off < 0.01, "{off}");
    }
    // Nothing more leaves it as it is.
    let alone = Mixture::from(law(54.0, 4.0));
    let same = alone.and(&law(1.0, 0.0).into()).expect("a sum");
    assert!((same.cdf(3) - alone.cdf(3)).abs() < 1e-9);
}
