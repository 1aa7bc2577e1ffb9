//! Counting by value against counting at random, in many invented shops: the same three drawers' effort
//! must leave fewer wrong decisions, and the chances that are told must come true as often as told.
//! The dice are seeded, so every run is the same.

use super::*;

const SHOPS: u64 = 400;
const DRAWERS: usize = 24;
const COUNTED: usize = 3;

/// Dice (`SplitMix64`, as published by Steele, Lea and Flood, 2014).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Between 0 and 1, neither of them.
    fn fraction(&mut self) -> f64 {
        let top = u32::try_from(self.roll() >> 32).expect("32 bits");
        (f64::from(top) + 0.5) / 4_294_967_296.0
    }

    fn below(&mut self, bound: u32) -> u32 {
        u32::try_from(self.roll() % u64::from(bound)).expect("below a small bound")
    }

    /// How many events of that mean: counts exponential waits.
    fn poisson(&mut self, mean: f64) -> u32 {
        let (mut events, mut waited) = (0, -self.fraction().ln());
        while waited < mean {
            events += 1;
            waited -= self.fraction().ln();
        }
        events
    }
}

/// A drawer whose book has drifted: what is known of it, and what is in it.
struct Drawer {
    margin: i64,
    true_margin: i64,
    chance: f64,
}

impl Drawer {
    fn is_wrong(&self) -> bool {
        (self.margin > 0) != (self.true_margin > 0)
    }
}

/// What happens in a shop that loses and finds pieces at those rates.
struct Life<'d> {
    dice: &'d mut Dice,
    losses: f64,
    gains: f64,
}

impl Life<'_> {
    /// A stretch of time after a count.
    fn stretch(&mut self) -> Interval {
        let weeks = 26.0 * self.dice.fraction();
        let a_week = 3.0 * self.dice.fraction();
        let movements = u64::from(self.dice.poisson(a_week * weeks));
        let over = occasions(movements, weeks);
        let lost = self.dice.poisson(self.losses * over);
        let found = self.dice.poisson(self.gains * over);
        Interval {
            movements,
            weeks,
            variance: i64::from(found) - i64::from(lost),
        }
    }
}

/// A shop with rates of its own, which it has learned from twelve past counts.
fn shop(dice: &mut Dice) -> Vec<Drawer> {
    let assumed = ErrorRates::assumed();
    let losses = assumed.losses.quantile(dice.fraction());
    let gains = assumed.gains.quantile(dice.fraction());
    let mut life = Life {
        dice,
        losses,
        gains,
    };
    let past: Vec<Interval> = (0..12).map(|_| life.stretch()).collect();
    let rates = assumed.learned(&past).expect("rates");
    let drawers = (0..DRAWERS).map(|_| {
        let now = life.stretch();
        let margin = i64::from(life.dice.below(10)) - 3;
        let over = occasions(now.movements, now.weeks);
        Drawer {
            margin,
            true_margin: margin + now.variance,
            chance: rates.chance_of_change(margin, over).expect("a chance"),
        }
    });
    drawers.collect()
}

fn wrong(drawers: &[Drawer]) -> f64 {
    drawers
        .iter()
        .map(|it| f64::from(u8::from(it.is_wrong())))
        .sum()
}

/// Wrong decisions that counting those drawers puts right.
fn put_right(drawers: &[Drawer], counted: &[usize]) -> f64 {
    counted
        .iter()
        .map(|index| f64::from(u8::from(drawers[*index].is_wrong())))
        .sum()
}

fn by_value(drawers: &[Drawer]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..drawers.len()).collect();
    order.sort_by(|a, b| drawers[*b].chance.total_cmp(&drawers[*a].chance));
    order.truncate(COUNTED);
    order
}

fn at_random(dice: &mut Dice) -> Vec<usize> {
    let mut all: Vec<usize> = (0..DRAWERS).collect();
    (0..COUNTED)
        .map(|_| all.swap_remove(usize::try_from(dice.below(24)).expect("small") % all.len()))
        .collect()
}

#[test]
fn counting_by_value_leaves_fewer_wrong_decisions_than_counting_at_random() {
    let mut dice = Dice(7);
    let (mut gains, mut all_wrong) = (Vec::new(), 0.0);
    let (mut value, mut random) = (0.0, 0.0);
    for _ in 0..SHOPS {
        let drawers = shop(&mut dice);
        all_wrong += wrong(&drawers);
        let chosen = put_right(&drawers, &by_value(&drawers));
        let drawn = put_right(&drawers, &at_random(&mut dice));
        value += chosen;
        random += drawn;
        gains.push(chosen - drawn);
    }
    let shops = f64::from(u32::try_from(SHOPS).expect("small"));
    let mean = gains.iter().sum::<f64>() / shops;
    let spread = gains.iter().map(|gain| (gain - mean).powi(2)).sum::<f64>() / (shops - 1.0);
    let by_luck = mean / (spread / shops).sqrt();
    // Random counts put right 3 of 24 drawers' share. Five standard errors are no luck.
    assert!(by_luck > 5.0, "{by_luck} standard errors");
    assert!(
        value > 2.0 * random,
        "{value} against {random} of {all_wrong}"
    );
}

#[test]
fn the_chances_come_true_as_often_as_they_say() {
    for (from, to) in [(0.0, 0.02), (0.02, 0.1), (0.1, 0.3), (0.3, 1.0)] {
        let mut dice = Dice(11);
        let (mut told, mut more, mut squares) = (0.0, 0.0, 0.0);
        for _ in 0..SHOPS {
            // The drawers of a shop share its rates and err together, so a shop is what is counted.
            let drawers = shop(&mut dice);
            let here = drawers.iter().filter(|it| (from..to).contains(&it.chance));
            let differences = here.map(|drawer| {
                told += drawer.chance;
                f64::from(u8::from(drawer.is_wrong())) - drawer.chance
            });
            let difference: f64 = differences.sum();
            more += difference;
            squares += difference * difference;
        }
        assert!(told > 10.0, "{from} to {to}: too few to tell");
        let errors = more / squares.sqrt();
        assert!(
            errors.abs() < 4.0,
            "{from} to {to}: {more} more than {told}: {errors}"
        );
    }
}
