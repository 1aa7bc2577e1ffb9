//! The review on small shops whose answer follows from a formula.

use super::*;
use crate::predictive::{Mixture, NegativeBinomial};
use crate::shared_factor::SharedFactor;

fn gamma(shape: f64, rate: f64) -> Gamma {
    Gamma::new(shape, rate).expect("a wear rate")
}

fn work(group: usize, first: f64, second: u64) -> Work {
    Work {
        group,
        first,
        second,
    }
}

fn used(group: usize, part: usize, pieces: u64) -> Use {
    Use {
        group,
        part,
        pieces,
    }
}

#[test]
fn with_one_group_and_one_driver_it_is_the_gamma_poisson_over_how_plans_may_be_kept() {
    // 9 pieces in 30 days of 8 hours on Gamma(1, 40). Nothing is known of plans yet: a fifth off
    // either way, each as likely.
    let mut shop = Shop::new(&[Drivers::First(gamma(1.0, 40.0))], 1).expect("a shop");
    for day in 0..30_u64 {
        let uses = [used(0, 0, u64::from(day % 10 < 3))];
        shop.close_day(&[work(0, 8.0, 0)], &uses).expect("a day");
    }
    let plan = vec![vec![6.0]; 12];
    let ahead = shop.review(&plan).expect("a review");
    let wear = gamma(1.0, 40.0).posterior(9, 240.0).expect("a rate");
    let over = |exposure: f64| wear.predictive(exposure).expect("a law");
    let expected = Mixture::new([(0.5, over(0.8 * 60.0)), (0.5, over(1.2 * 60.0))]);
    let expected = expected.expect("a mixture");
    let found = ahead.over(0, 10).expect("a law");
    for pieces in 0..12 {
        let (found, expected) = (found.cdf(pieces), expected.cdf(pieces));
        assert!(
            (found - expected).abs() < 1e-12,
            "{pieces}: {found} {expected}"
        );
    }
    assert!((ahead.mean(0, 10).expect("a mean") - 60.0 * 10.0 / 280.0).abs() < 1e-12);
    // Over a lead time of 2 or 10 days the chances mix.
    let lead = ahead
        .over_lead_time(0, [(2, 0.25), (10, 0.75)])
        .expect("a law");
    let both = 0.25 * ahead.over(0, 2).expect("a law").cdf(1) + 0.75 * found.cdf(1);
    assert!((lead.cdf(1) - both).abs() < 1e-12);
}

#[test]
fn a_stated_pace_is_taken_as_it_stands() {
    // 24 pieces over 200 arc hours on Gamma(2, 20), with days as unlike each other as can be.
    let mut shop = Shop::new(&[Drivers::First(gamma(2.0, 20.0))], 1).expect("a shop");
    for day in 0..100_u64 {
        let hours = if day % 10 == 0 { 20.0 } else { 0.0 };
        let uses = (day % 40 == 0).then(|| used(0, 0, 8));
        shop.close_day(&[work(0, hours, 0)], uses.as_slice())
            .expect("a day");
    }
    let plan = vec![vec![6.0 / 7.0]; 14];
    let stated = shop.as_stated(&plan).expect("a plan");
    let found = stated.over(0, 14).expect("a law");
    // Gamma(26, 220) over 12 arc hours: P(use <= 4) = 0.982 and P(use <= 3) is below 0.95.
    assert!((found.cdf(4) - 0.982).abs() < 5e-4, "{}", found.cdf(4));
    assert_eq!(found.quantile(0.95), 4);
    assert_eq!(shop.kept_plan(), None);
    let learned = shop.review(&plan).expect("a plan").over(0, 14);
    assert!(learned.expect("a law").variance() > found.variance() + 0.01);
}

#[test]
fn one_gamma_law_in_the_place_of_a_rate_times_a_factor_errs_by_less_than_half_a_percent() {
    // A rate of shape 12 times a factor with a coefficient of variation of a fifth, integrated over
    // the factor, against the gamma law with the same mean and variance, as the review takes it.
    let wear = gamma(12.0, 100.0);
    let factor = SharedFactor::new(0.2).expect("a factor");
    let nodes = factor.nodes().into_iter().map(|node| {
        let uses = wear.predictive(60.0 * node.factor).expect("a law");
        (node.weight, uses)
    });
    let exact = Mixture::new(nodes).expect("a mixture");
    let mean = wear.mean() * 60.0;
    let size = 1.0 / ((1.0 + 1.0 / 12.0) * (1.0 + 0.04) - 1.0);
    let matched = NegativeBinomial::new(size, 1.0, mean / size).expect("a law");
    for pieces in 0..40 {
        let off = (matched.cdf(pieces) - exact.cdf(pieces)).abs();
        assert!(off < 5e-3, "{pieces}: {off}");
    }
}

#[test]
fn work_that_moves_to_a_clumsier_group_uses_more() {
    // The second group uses three times as much an hour, of two parts of different rates.
    let parts = [Drivers::first_unknown(), Drivers::first_unknown()];
    let mut shop = Shop::new(&parts, 2).expect("a shop");
    for day in 0..200_u64 {
        let each = |every: u64| u64::from(day % every == 0);
        let work = [work(0, 6.0, 0), work(1, 2.0, 0)];
        let uses = [
            used(0, 0, 1),
            used(1, 0, 1),
            used(0, 1, each(10)),
            used(1, 1, each(10)),
        ];
        shop.close_day(&work, &uses).expect("a day");
    }
    let first = |plan: [f64; 2]| {
        let ahead = shop.clone().review(&[plan.to_vec()]).expect("a review");
        [0, 1].map(|part| ahead.mean(part, 1).expect("a mean"))
    };
    let (before, after) = (first([6.0, 2.0]), first([0.0, 8.0]));
    // 6 h and 2 h use 2 and 0.2; 8 h of the second group use four times what its 2 h did, but for a
    // factor that is drawn towards one by 2 pieces in about 75.
    assert!(
        (before[0] - 2.0).abs() < 0.01 && (before[1] - 0.2).abs() < 0.01,
        "{before:?}"
    );
    assert!(
        after[0] > 3.9 && after[0] < 4.0 && after[1] > 0.39 && after[1] < 0.4,
        "{after:?}"
    );
}

#[test]
fn a_group_of_few_pieces_is_kept_apart_on_its_own_starting_assumption() {
    let assumed = gamma(2.0, 20.0);
    let mut shop = Shop::new(&[Drivers::First(assumed)], 2).expect("a shop");
    for _ in 0..20 {
        shop.close_day(&[work(0, 5.0, 0)], &[used(0, 0, 1)])
            .expect("a day");
    }
    for pieces in [3, 1] {
        shop.close_day(&[work(1, 5.0, 0)], &[used(1, 0, pieces)])
            .expect("a day");
    }
    assert_eq!(shop.factors().expect("factors").product(&[1]), None);
    let mean = |plan: [f64; 2]| {
        let ahead = shop.clone().review(&[plan.to_vec()]).expect("a review");
        ahead.mean(0, 1).expect("a mean")
    };
    // Gamma(22, 120) for the first, Gamma(6, 30) for the second, which has taught the first nothing.
    assert!((mean([10.0, 0.0]) - 220.0 / 120.0).abs() < 1e-12);
    assert!((mean([0.0, 10.0]) - 2.0).abs() < 1e-12);
    assert!((mean([10.0, 10.0]) - 220.0 / 120.0 - 2.0).abs() < 1e-12);
}

#[test]
fn when_grinding_doubles_the_wheels_are_forecast_to_go_twice_as_fast_within_two_weeks() {
    let mut shop = Shop::new(&[Drivers::second_unknown()], 1).expect("a shop");
    let plan = [vec![5.0]];
    let expected = |shop: &mut Shop| {
        let ahead = shop.review(&plan).expect("a review");
        ahead.mean(0, 1).expect("a mean")
    };
    for day in 0..100_u64 {
        let uses = [used(0, 0, u64::from(day % 5 == 0))];
        shop.close_day(&[work(0, 5.0, 5)], &uses).expect("a day");
    }
    let before = expected(&mut shop);
    assert!((before - 0.2).abs() < 0.01, "{before}");
    for day in 0..10_u64 {
        let uses = [used(0, 0, u64::from(day % 5 == 0) * 2)];
        shop.close_day(&[work(0, 5.0, 10)], &uses).expect("a day");
    }
    let after = expected(&mut shop);
    assert!((after / before - 2.0).abs() < 0.15, "{before} {after}");
}

#[test]
fn a_shop_that_does_four_fifths_of_its_plans_is_expected_to_again() {
    let mut shop = Shop::new(&[Drivers::First(gamma(100.0, 1_000.0))], 1).expect("a shop");
    for _ in 0..400 {
        shop.review(&vec![vec![10.0]; 60]).expect("a review");
        shop.close_day(&[work(0, 8.0, 0)], &[]).expect("a day");
    }
    let ahead = shop.review(&vec![vec![10.0]; 60]).expect("a review");
    let all = gamma(100.0, 1_000.0)
        .posterior(0, 3_200.0)
        .expect("a rate")
        .mean()
        * 300.0;
    let found = ahead.mean(0, 30).expect("a mean") / all;
    // The plans before the first count for one, at 0.8 and 1.2; 370 evenings for 12.
    assert!((found - (0.8 * 12.3 + 1.0) / 13.3).abs() < 0.005, "{found}");
    let ratios = shop.kept_plan().expect("plans").ratios(30);
    let kept: f64 = ratios
        .iter()
        .filter(|(r, _)| *r < 0.9)
        .map(|(_, c)| c)
        .sum();
    assert!(kept > 0.95, "{ratios:?}");
}

#[test]
fn without_planned_work_nothing_is_used() {
    let mut shop = Shop::new(&[Drivers::both_unknown()], 1).expect("a shop");
    shop.close_day(&[work(0, 5.0, 3)], &[used(0, 0, 2)])
        .expect("a day");
    let ahead = shop.review(&vec![vec![0.0]; 5]).expect("a review");
    assert_eq!(ahead.over(0, 5).expect("a law").quantile(0.9999), 0);
    assert_eq!(ahead.over(0, 0).expect("a law").quantile(0.9999), 0);
}

#[test]
fn what_is_not_there_is_refused() {
    let mut shop = Shop::new(&[Drivers::both_unknown()], 1).expect("a shop");
    let day = |work: &[Work], uses: &[Use]| shop.clone().close_day(work, uses);
    assert_eq!(day(&[work(1, 1.0, 0)], &[]), Err(ReviewError::Group(1)));
    assert_eq!(day(&[], &[used(2, 0, 1)]), Err(ReviewError::Group(2)));
    assert_eq!(day(&[], &[used(0, 3, 1)]), Err(ReviewError::Part(3)));
    let idle = day(&[], &[used(0, 0, 1)]);
    assert_eq!(
        idle,
        Err(TwoDriverError::Contradiction { events: 1 }.into())
    );
    assert!(day(&[work(0, f64::NAN, 0)], &[]).is_err());
    assert!(shop.review(&[vec![1.0, 2.0]]).is_err());
    assert!(shop.review(&[vec![-1.0]]).is_err());
    let ahead = shop.review(&[vec![1.0]]).expect("a review");
    let asked = ahead.over(0, 2);
    assert_eq!(
        asked,
        Err(ReviewError::Horizon {
            asked: 2,
            planned: 1
        })
    );
    assert_eq!(ahead.over(1, 1), Err(ReviewError::Part(1)));
    assert!(matches!(
        ahead.over_lead_time(0, []),
        Err(ReviewError::Mixture(_))
    ));
}
