//! Work too large to weigh every number of pieces: held against the exact order where both can be
//! had, and against the chance itself where not.

use super::super::large;
use super::*;
use crate::job::joint_chance;

/// Rates of six parts as events and exposure on record, invented.
const RATES: [(f64, f64); 6] = [
    (60.0, 430.0),
    (7.5, 460.0),
    (20.0, 440.0),
    (3.5, 460.0),
    (2.5, 510.0),
    (1.5, 460.0),
];

fn lines(hours: f64) -> Vec<JobLine> {
    let each = RATES.into_iter();
    each.map(|(events, over)| line(events, over, hours, 3))
        .collect()
}

/// Packs of 10, of 5 and singles, from three suppliers with freight and minimum orders.
fn market() -> Market {
    let sellers = vec![
        supplier(0, 0, None),
        supplier(900, 1_000, Some(20_000)),
        supplier(1_800, 2_000, None),
    ];
    let packs = [(10, 4_200), (5, 2_300), (1, 560)];
    let offers = (0..RATES.len()).flat_map(|part| {
        let each = packs.into_iter().enumerate();
        each.map(move |(seller, (size, price))| offer((part, seller), size, price))
    });
    Market::new(sellers, offers.collect()).unwrap()
}

fn chance(market: &Market, plan: &Plan, lines: &[JobLine], shared: SharedFactor) -> f64 {
    let with = lines.iter().enumerate().map(|(part, line)| JobLine {
        available: line.available + plan.pieces(market, part),
        ..*line
    });
    joint_chance(&with.collect::<Vec<_>>(), shared)
}

#[test]
fn the_quick_way_reaches_the_target_and_its_bound_holds() {
    let market = market();
    for (hours, spread) in [(34.0, 0.0), (34.0, 0.3), (200.0, 0.0), (200.0, 0.5)] {
        let lines = lines(hours);
        let shared = SharedFactor::new(spread).unwrap();
        let target = Target::new(0.95).unwrap();
        assert!(!large::is_large(&market, &lines, shared));
        let exact = market.cheapest_over(&lines, shared, target).unwrap();
        let quick = large::cheapest(&market, &lines, shared, 0.95).unwrap();
        assert!(chance(&market, &quick, &lines, shared) >= 0.95);
        assert!(quick.cost_minor >= exact.at_least_minor, "{hours} h");
        assert!(quick.at_least_minor <= exact.cost_minor, "{hours} h");
        assert_eq!(market.cost(&quick.purchases), Some(quick.cost_minor));
    }
}

#[test]
fn years_of_work_are_weighed_the_quick_way() {
    let (market, lines) = (market(), lines(30_000.0));
    for spread in [0.0, 0.5, 1.0] {
        let shared = SharedFactor::new(spread).unwrap();
        assert!(large::is_large(&market, &lines, shared));
        let target = Target::new(0.95).unwrap();
        let plan = market.cheapest_over(&lines, shared, target).unwrap();
        assert!(chance(&market, &plan, &lines, shared) >= 0.95);
        assert!(plan.at_least_minor > 0 && plan.gap_minor() > 0);
    }
}

#[test]
fn a_part_that_nobody_offers_and_that_runs_short_is_told() {
    let market = market();
    let mut lines = lines(100_000.0);
    lines.push(lines[0]);
    let plan = large::cheapest(&market, &lines, SharedFactor::NONE, 0.95);
    assert_eq!(plan, Err(OrderError::Unreachable));
}
