//! Lives against the negative binomial, against sums of Poisson chances, and against lives that are drawn.

use super::*;
use crate::dice::Dice;

fn gamma(shape: f64, rate: f64) -> Gamma {
    Gamma::new(shape, rate).expect("a wear rate")
}

fn lives(of: impl IntoIterator<Item = f64>) -> Lives {
    let all = of.into_iter().try_fold(Lives::NONE, Lives::and);
    all.expect("lives")
}

#[test]
fn at_shape_1_it_is_the_negative_binomial() {
    let record = lives([3.0, 11.5, 6.0]);
    let life = GammaLife::new(1.0, &gamma(2.0, 40.0), &record).expect("a life");
    for exposure in [0.0, 0.3, 34.0, 2_000.0] {
        let found = life.fresh(exposure).expect("a use");
        let expected = gamma(5.0, 60.5).predictive(exposure).expect("a predictive");
        for n in [0, 1, 2, 7, 90, 300] {
            let (found, expected) = (found.sf(n), expected.sf(n));
            let close = (found - expected).abs() <= 1e-13 * expected;
            assert!(close, "{exposure} {n}: {found:e} {expected:e}");
        }
        for p in [0.05, 0.5, 0.9, 0.95, 0.999] {
            assert_eq!(found.quantile(p), expected.quantile(p), "{exposure} {p}");
        }
        assert!((found.mean() - expected.mean()).abs() <= 1e-12 * expected.mean());
        let pmf = (found.pmf(3) - expected.pmf(3)).abs();
        assert!(pmf <= 1e-12 * expected.pmf(3) + 1e-300, "{exposure}");
    }
}

/// P(N >= j) by brute force: Gamma(a, b) cut into thin slices, and at each rate r the chance that a gamma variable of
/// a whole shape m = j k is within T, 1 - e^-rT (1 + rT + ... + (rT)^(m-1) / (m-1)!).
fn sliced(j: u32, shape: u32, known: (f64, f64), exposure: f64) -> f64 {
    let (a, b) = known;
    let slices = 200_000;
    let width = (a + 14.0 * a.sqrt()) / b / f64::from(slices);
    let (mut sum, mut mass) = (0.0, 0.0);
    for slice in 0..slices {
        let rate = width * (f64::from(slice) + 0.5);
        let density = ((a - 1.0) * rate.ln() - b * rate).exp();
        let x = rate * exposure;
        let (mut term, mut fewer) = (1.0, 0.0);
        for m in 0..j * shape {
            fewer += term;
            term *= x / f64::from(m + 1);
        }
        mass += density;
        sum += density * (1.0 - fewer * (-x).exp());
    }
    sum / mass
}

#[test]
fn lives_of_a_whole_shape_agree_with_slices_of_the_rate() {
    // Ten lives of shape 3 over 200 grinds, on 2 in 40: a = 36, b = 240.
    let record = lives([20.0; 10]);
    let life = GammaLife::new(3.0, &gamma(2.0, 40.0), &record).expect("a life");
    let found = life.fresh(50.0).expect("a use");
    for j in [1, 2, 3, 5] {
        let expected = sliced(j, 3, (36.0, 240.0), 50.0);
        let found = found.sf(u64::from(j) - 1);
        assert!(
            (found / expected - 1.0).abs() < 1e-6,
            "{j}: {found} {expected}"
        );
    }
    let expected: f64 = (1..12).map(|j| sliced(j, 3, (36.0, 240.0), 50.0)).sum();
    assert!((found.mean() - expected).abs() < 1e-6, "{}", found.mean());
    // The limit of long exposures: a T / (b k) - (k - 1) / (2 k).
    let long = life.fresh(1e5).expect("a use").mean();
    assert!(
        (long - (36.0 * 1e5 / 240.0 / 3.0 - 1.0 / 3.0)).abs() < 1e-3,
        "{long}"
    );
}

/// Uses of several positions, drawn: a rate, a life for each part in use, kept if all have lasted, and lives until the
/// exposure is over.
fn drawn(shape: f64, known: (f64, f64), positions: &[Position], dice: &mut Dice) -> u64 {
    loop {
        let rate = dice.gamma(known.0) / known.1;
        let firsts: Vec<f64> = positions.iter().map(|_| dice.gamma(shape) / rate).collect();
        if positions
            .iter()
            .zip(&firsts)
            .any(|(position, life)| *life < position.age)
        {
            continue;
        }
        let mut used = 0;
        for (position, first) in positions.iter().zip(firsts) {
            let mut at = first - position.age;
            while at <= position.exposure {
                used += 1;
                at += dice.gamma(shape) / rate;
            }
        }
        return used;
    }
}

#[test]
fn part_worn_parts_in_several_torches_agree_with_lives_that_are_drawn() {
    let mut dice = Dice::new(21);
    let record = lives([17.0, 25.0, 19.0, 22.0, 16.0, 21.0, 24.0, 18.0]);
    let position = |age, exposure| Position { age, exposure };
    let cases: [(f64, &[Position]); 4] = [
        (4.0, &[position(15.0, 30.0)]),
        (1.5, &[position(0.0, 25.0), position(30.0, 10.0)]),
        (
            8.0,
            &[
                position(12.0, 40.0),
                position(3.0, 40.0),
                position(19.0, 0.0),
            ],
        ),
        (1.0, &[position(12.0, 40.0), position(3.0, 20.0)]),
    ];
    for (shape, positions) in cases {
        let life = GammaLife::new(shape, &gamma(2.0, 40.0), &record).expect("a life");
        let found = life.over(positions).expect("a table");
        let known = (shape * 10.0, 202.0);
        let draws = 60_000_u32;
        let mut counts = [0.0; 40];
        for _ in 0..draws {
            let used = drawn(shape, known, positions, &mut dice);
            counts[usize::try_from(used).expect("few")] += 1.0 / f64::from(draws);
        }
        for (n, share) in (0..).zip(counts) {
            let error = (found.pmf(n) * (1.0 - found.pmf(n)) / f64::from(draws)).sqrt();
            let off = (share - found.pmf(n)).abs();
            assert!(
                off < 4.5 * error + 1e-5,
                "{shape}, {n}: {share} {}",
                found.pmf(n)
            );
        }
    }
}

#[test]
fn a_fresh_part_in_one_torch_has_the_same_chances_by_integration_as_in_closed_form() {
    let record = lives([17.0, 25.0, 19.0, 22.0, 16.0, 21.0, 24.0, 18.0]);
    for shape in [1.0, 1.5, 6.0, 100.0] {
        let life = GammaLife::new(shape, &gamma(2.0, 40.0), &record).expect("a life");
        let closed = life.fresh(70.0).expect("a use");
        for age in [0.0, 1e-9] {
            let position = Position {
                age,
                exposure: 70.0,
            };
            let table = life.over(&[position]).expect("a table");
            for n in 0..12 {
                let off = (table.pmf(n) - closed.pmf(n)).abs();
                assert!(off < 1e-6, "{shape}, {age}, {n}: {off:e}");
            }
        }
    }
}

#[test]
fn parts_in_use_that_have_lasted_long_slow_the_rate() {
    let record = lives([20.0; 8]);
    let life = GammaLife::new(4.0, &gamma(2.0, 40.0), &record).expect("a life");
    let with = |age| {
        let idle = Position { age, exposure: 0.0 };
        let busy = Position {
            age: 0.0,
            exposure: 60.0,
        };
        life.over(&[idle, busy]).expect("a table").mean()
    };
    assert!(
        with(45.0) < with(10.0) - 0.05,
        "{} {}",
        with(45.0),
        with(10.0)
    );
}

#[test]
fn the_likelihood_of_random_lives_is_the_one_that_is_known() {
    // At shape 1 all exposure counts alike: ln G(a0+n) - ln G(a0) + a0 ln b0 - (a0+n) ln(b0+E+c). G(10) = 362880.
    let in_use = [7.0, 30.0].map(|age| Position { age, exposure: 1.0 });
    let record = lives([5.0, 9.0, 2.0, 31.0, 14.0, 8.0, 1.0, 30.0]);
    let found = regularity::ln_likelihood(1.0, &gamma(2.0, 40.0), &record, &in_use);
    let expected = 362_880.0_f64.ln() + 2.0 * 40.0_f64.ln() - 10.0 * 177.0_f64.ln();
    let found = found.expect("a likelihood");
    assert!((found - expected).abs() < 1e-9, "{found} {expected}");
}

#[test]
fn regular_lives_are_learned_and_random_ones_are_not() {
    let mut dice = Dice::new(2);
    let assumed = gamma(2.0, 40.0);
    let mut draw =
        |shape: f64, count: u32| lives((0..count).map(|_| dice.gamma(shape) * 20.0 / shape));
    let few = Regularity::of(&assumed, &draw(12.0, 7), &[]).expect("a verdict");
    assert_eq!(few, Regularity::TooFewLives { whole: 7 });
    assert!((few.shape() - 1.0).abs() < 1e-15);
    let regular = Regularity::of(&assumed, &draw(6.0, 40), &[]).expect("a verdict");
    assert!((3.0..=12.0).contains(&regular.shape()), "{regular:?}");
    // Forty records of random lives: strong evidence against the truth must be rare.
    let wrong = (0..40).filter(|_| {
        let verdict = Regularity::of(&assumed, &draw(1.0, 20), &[]).expect("a verdict");
        verdict.shape() > 1.0
    });
    let wrong = wrong.count();
    assert!(
        wrong <= 2,
        "{wrong} of 40 records of random lives are called regular"
    );
    // A dozen lives of a wear-out part are enough.
    let right = (0..40).filter(|_| {
        let verdict = Regularity::of(&assumed, &draw(9.0, 12), &[]).expect("a verdict");
        verdict.shape() > 1.0
    });
    let right = right.count();
    assert!(
        right >= 30,
        "only {right} of 40 records of regular lives are told"
    );
}

#[test]
fn a_verdict_says_which_it_is() {
    let (life, verdict) =
        GammaLife::learned(&gamma(2.0, 40.0), &lives([20.0; 30]), &[]).expect("a life");
    assert!((life.shape() - 16.0).abs() < 1e-12);
    assert_eq!(
        verdict.sentence(),
        "These wear out rather than fail at random: a life varies by about 25 %."
    );
    let (life, verdict) = GammaLife::learned(&gamma(2.0, 40.0), &Lives::NONE, &[]).expect("a life");
    // Two in forty.
    assert!((life.mean_rate() - 0.05).abs() < 1e-15);
    assert_eq!(
        verdict.sentence(),
        "Use counts as random: 0 whole lives are on record, and 8 are needed to learn more."
    );
}

#[test]
fn what_is_no_life_is_refused() {
    for bad in [0.0, -1.0, 2e9, f64::NAN] {
        assert!(
            matches!(Lives::NONE.and(bad), Err(LifeError::Life(_))),
            "{bad}"
        );
    }
    let new = |shape| GammaLife::new(shape, &gamma(2.0, 40.0), &Lives::NONE);
    for bad in [0.9, 101.0, f64::NAN] {
        assert!(matches!(new(bad), Err(LifeError::Shape(_))), "{bad}");
    }
    let life = new(2.0).expect("a life");
    assert!(life.fresh(-1.0).is_err());
    let over = |age, exposure| life.over(&[Position { age, exposure }]);
    assert!(matches!(over(-1.0, 1.0), Err(LifeError::Age(_))));
    assert!(matches!(over(1.0, f64::NAN), Err(LifeError::Exposure(_))));
    // Nobody at work uses nothing.
    assert_eq!(life.over(&[]).expect("a table").quantile(0.999), 0);
}
