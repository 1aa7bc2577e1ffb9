//! Chances over a shared factor: against drawing at random, against plain numerical integration,
//! and in which direction they go.

use super::*;

/// Random numbers for drawing: xorshift64*, S. Vigna, *ACM Transactions on Mathematical Software*
/// 42, 2016.
struct Draws(u64);

impl Draws {
    fn uniform(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let bits = self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11;
        (crate::special::real(bits) + 0.5) / 9_007_199_254_740_992.0
    }

    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        radius * (2.0 * std::f64::consts::PI * self.uniform()).cos()
    }

    /// Marsaglia and Tsang, *ACM Transactions on Mathematical Software* 26, 2000; rate 1.
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let power = self.uniform().powf(1.0 / shape);
            return self.gamma(shape + 1.0) * power;
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && self.uniform().ln() < 0.5 * x * x + d * (1.0 - v + v.ln()) {
                return d * v;
            }
        }
    }

    /// Counting exponential gaps.
    fn poisson(&mut self, mean: f64) -> i64 {
        let (mut count, mut time) = (0, -self.uniform().ln());
        while time < mean {
            count += 1;
            time -= self.uniform().ln();
        }
        count
    }
}

/// The share of drawn jobs that ran without a stop: one factor a job, one rate a part.
fn drawn(known: &[(f64, f64)], available: &[i64], (exposure, spread): (f64, f64)) -> f64 {
    const JOBS: u32 = 400_000;
    let mut draws = Draws(0x5EED_0001);
    let shape = 1.0 / (spread * spread);
    let mut ran = 0_u32;
    for _ in 0..JOBS {
        let factor = draws.gamma(shape) / shape;
        let lasts = known.iter().zip(available).all(|((a, b), available)| {
            let rate = draws.gamma(*a) / b;
            draws.poisson(rate * exposure * factor) <= *available
        });
        ran += u32::from(lasts);
    }
    f64::from(ran) / f64::from(JOBS)
}

#[test]
fn a_joint_chance_agrees_with_drawing_at_random_to_three_digits() {
    let handrail_rates = [
        (60.0, 430.0),
        (7.5, 460.0),
        (20.0, 440.0),
        (3.5, 460.0),
        (2.5, 510.0),
    ];
    let course_rates: Vec<(f64, f64)> = [33.0, 15.0, 5.5, 2.5, 4.5, 1.5]
        .into_iter()
        .map(|shape| (shape, 39.0))
        .collect();
    for spread in [0.2, 0.6, 1.0] {
        let shared = SharedFactor::new(spread).unwrap();
        let stock = [13, 6, 5, 2, 1];
        let found = joint_chance(&handrail(stock), shared);
        let expected = drawn(&handrail_rates, &stock, (34.0, spread));
        // Four standard errors of the drawing at most: 4 sqrt(0.25 / 400 000) = 0.0032.
        let error = 4.0 * (expected * (1.0 - expected) / 400_000.0).sqrt();
        assert!(
            (found - expected).abs() < error,
            "{spread}: {found} {expected}"
        );
        let stock = [34, 19, 11, 9, 13, 3];
        let found = joint_chance(&course(stock), shared);
        let expected = drawn(&course_rates, &stock, (24.0, spread));
        let error = 4.0 * (expected * (1.0 - expected) / 400_000.0).sqrt();
        assert!(
            (found - expected).abs() < error,
            "{spread}: {found} {expected}"
        );
    }
}

#[test]
fn a_joint_chance_agrees_with_plain_integration() {
    // Simpson's rule over ln f, 40 000 steps, with the density of Gamma(k, k).
    let simpson = |lines: &[JobLine], spread: f64| {
        let k = 1.0 / (spread * spread);
        let value = |y: f64| {
            let f = y.exp();
            let density = k * k.ln() - libm::lgamma(k) + k * y - k * f;
            let product: f64 = lines
                .iter()
                .map(|line| line.lasts(line.available, f))
                .product();
            product * density.exp()
        };
        let (low, high, steps) = (-25.0, 5.0, 40_000_u32);
        let width = (high - low) / f64::from(steps);
        let mut sum = value(low) + value(high);
        for step in 1..steps {
            let times = if step % 2 == 0 { 2.0 } else { 4.0 };
            sum += times * value(low + width * f64::from(step));
        }
        sum * width / 3.0
    };
    for spread in [0.1, 0.5, 1.0] {
        let shared = SharedFactor::new(spread).unwrap();
        for lines in [handrail([3, 1, 5, 2, 1]), handrail([13, 6, 5, 2, 1])] {
            let found = joint_chance(&lines, shared);
            let expected = simpson(&lines, spread);
            assert!(
                (found - expected).abs() < 1e-8,
                "{spread}: {found} {expected}"
            );
        }
        let lines = course([14, 9, 6, 4, 3, 2]);
        let (found, expected) = (joint_chance(&lines, shared), simpson(&lines, spread));
        assert!(
            (found - expected).abs() < 1e-8,
            "{spread}: {found} {expected}"
        );
    }
}

#[test]
fn clumsiness_lowers_the_chances_of_the_course_that_were_high() {
    let spread = SharedFactor::new(0.3).unwrap();
    for (stock, without) in [
        ([34, 19, 11, 9, 13, 3], 0.9282),
        ([34, 19, 11, 9, 13, 4], 0.9526),
    ] {
        let lines = course(stock);
        assert!((joint_chance(&lines, SharedFactor::NONE) - without).abs() < 5e-5);
        let with = joint_chance(&lines, spread);
        assert!(with < without - 0.01, "{with} {without}");
    }
}

#[test]
fn a_shared_factor_helps_where_the_chance_was_low() {
    // With little of everything the course is lost on average; a gentle group may still do it.
    let lines = course([14, 9, 6, 4, 3, 2]);
    assert!((chance(&lines) - 0.0459).abs() < 5e-5);
    assert!(joint_chance(&lines, SharedFactor::new(0.3).unwrap()) > 0.0459);
}

#[test]
fn a_joint_chance_is_above_the_product_of_the_averages() {
    // Each P(use <= available | f) falls with f, and such functions are positively correlated
    // (Chebyshev's inequality).
    let shared = SharedFactor::new(0.5).unwrap();
    let lines = course([34, 19, 11, 9, 13, 3]);
    let apart: f64 = lines.iter().map(|line| line.chance_over(shared)).product();
    assert!(joint_chance(&lines, shared) > apart + 0.01);
}

#[test]
fn the_largest_gain_looks_at_the_joint_chance() {
    let shared = SharedFactor::new(0.4).unwrap();
    let lines = course([34, 19, 11, 9, 13, 3]);
    let gain = largest_gain_over(&lines, shared).expect("a gain");
    let by_hand = (0..lines.len()).map(|index| {
        let mut more = lines.clone();
        more[index].available += 1;
        joint_chance(&more, shared)
    });
    let best = by_hand.fold(0.0, f64::max);
    assert!((gain.chance - best).abs() < 1e-15);
}
