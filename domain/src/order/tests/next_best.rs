//! The next best purchase: scenario S5, cases that can be worked out by hand, and random markets
//! against every single purchase, with the money and the chances added up here anew.

use super::*;
use crate::shared_factor::SharedFactor;

/// The lines of scenario S5 with its order: an electrode, a collet, a cup, an O-ring and a gas lens
/// over 34 arc hours, from 410 on record.
fn with_its_order() -> Vec<JobLine> {
    vec![
        line(60.0, 430.0, 34.0, 13),
        line(7.5, 460.0, 34.0, 6),
        line(20.0, 440.0, 34.0, 5),
        line(3.5, 460.0, 34.0, 2),
        line(2.5, 510.0, 34.0, 1),
    ]
}

fn next(market: &Market, lines: &[JobLine], order: &[(usize, i64)]) -> Option<Next> {
    let order = order.iter().map(|(offer, packs)| Purchase {
        offer: *offer,
        packs: *packs,
    });
    market.next_best(lines, SharedFactor::NONE, &order.collect::<Vec<_>>())
}

#[test]
fn after_the_order_of_the_big_job_it_is_the_gas_lens() {
    // Packs of the scenario; the lens at 18.00 is invented.
    let offers = vec![
        offer((0, 0), 10, 4_200),
        offer((1, 0), 5, 1_250),
        offer((4, 0), 1, 1_800),
    ];
    let market = Market::new(vec![supplier(0, 0, None)], offers).unwrap();
    let best = next(&market, &with_its_order(), &[(0, 1), (1, 1)]).expect("a gain");
    assert_eq!(best.purchase, Purchase { offer: 2, packs: 1 });
    assert_eq!(best.cost_minor, 1_800);
    // The figure of the scenario: 98.6 %.
    assert!((best.chance - 0.986).abs() < 5e-4, "{}", best.chance);
}

#[test]
fn freight_that_is_paid_already_is_not_paid_again() {
    // The same lens at two suppliers: 17.00 and 9.00 freight, or 20.00 where freight is paid.
    let sellers = vec![supplier(700, 0, None), supplier(900, 0, None)];
    let offers = vec![
        offer((0, 0), 10, 4_200),
        offer((4, 0), 1, 2_000),
        offer((4, 1), 1, 1_700),
    ];
    let market = Market::new(sellers, offers).unwrap();
    let lines = with_its_order();
    let best = next(&market, &lines, &[(0, 1)]).expect("a gain");
    assert_eq!((best.purchase.offer, best.cost_minor), (1, 2_000));
    // With nothing bought yet 17.00 and 9.00 are less than 20.00 and 7.00.
    let best = next(&market, &lines, &[]).expect("a gain");
    assert_eq!((best.purchase.offer, best.cost_minor), (2, 2_600));
}

#[test]
fn a_break_that_is_reached_counts_for_all_packs() {
    // Three packs at 4.00; from four on 2.50: the fourth pack makes the order 2.00 cheaper.
    let mut single = offer((4, 0), 1, 400);
    single.packs_max = Some(3);
    let mut broken = offer((4, 0), 1, 250);
    broken.packs_min = 4;
    let market = Market::new(vec![supplier(0, 0, None)], vec![single, broken]).unwrap();
    let best = next(&market, &with_its_order(), &[(0, 3)]).expect("a gain");
    assert_eq!(best.purchase, Purchase { offer: 1, packs: 1 });
    assert_eq!(best.cost_minor, -200);
}

#[test]
fn as_many_packs_as_a_minimum_order_asks_for() {
    // 9.00 a piece and a minimum of 20.00: three.
    let market = Market::new(
        vec![supplier(500, 2_000, None)],
        vec![offer((4, 0), 1, 900)],
    );
    let best = next(&market.unwrap(), &with_its_order(), &[]).expect("a gain");
    assert_eq!(best.purchase, Purchase { offer: 0, packs: 3 });
    assert_eq!(best.cost_minor, 3_200);
}

#[test]
fn where_nothing_gains_nothing_is_named() {
    let market = Market::new(vec![supplier(0, 0, None)], vec![offer((0, 0), 1, 100)]).unwrap();
    // A part that is never used.
    assert_eq!(next(&market, &[line(1.0, 1.0, 0.0, 0)], &[]), None);
    let none = Market::new(Vec::new(), Vec::new()).unwrap();
    assert_eq!(next(&none, &with_its_order(), &[]), None);
}

/// P(use <= available) by the recurrence of the negative binomial: P(0) = p^a,
/// P(k) = P(k - 1) (a + k - 1) / k (1 - p).
fn lasts((shape, rate, exposure): (f64, f64, f64), available: i64) -> f64 {
    let p = rate / (rate + exposure);
    let (mut term, mut sum, mut k) = (p.powf(shape), 0.0, 0.0);
    for _ in 0..=available {
        sum += term;
        k += 1.0;
        term *= (shape + k - 1.0) / k * (1.0 - p);
    }
    sum
}

/// What an order costs, added up anew; none where it cannot be placed.
fn cost(sellers: &[Supplier], offers: &[Offer], order: &[(usize, i64)]) -> Option<i64> {
    let mut sum = 0;
    for (index, seller) in sellers.iter().enumerate() {
        let own = order.iter().filter(|it| offers[it.0].supplier == index);
        let mut goods = None;
        for (offer, packs) in own {
            let terms = &offers[*offer];
            if *packs < terms.packs_min || terms.packs_max.is_some_and(|max| *packs > max) {
                return None;
            }
            *goods.get_or_insert(0) += packs * terms.price_minor;
        }
        let Some(goods) = goods else { continue };
        if goods < seller.minimum_minor {
            return None;
        }
        let is_free = seller.free_over_minor.is_some_and(|over| goods >= over);
        sum += goods + if is_free { 0 } else { seller.freight_minor };
    }
    Some(sum)
}

/// A purchase of every offer that can be placed beside an order: what it costs more, and the chance
/// with it.
fn every_purchase(
    (sellers, offers): (&[Supplier], &[Offer]),
    wear: &[(f64, f64, f64)],
    (there, order): (&[i64], &[(usize, i64)]),
) -> Vec<(i64, f64)> {
    let Some(paid) = cost(sellers, offers, order) else {
        return Vec::new();
    };
    let purchase = |index: usize| {
        let own = &offers[index];
        let alike = |it: &&(usize, i64)| {
            let other = &offers[it.0];
            (other.part, other.supplier, other.pack_size) == (own.part, own.supplier, own.pack_size)
        };
        let before: i64 = order.iter().filter(alike).map(|it| it.1).sum();
        let rest: Vec<(usize, i64)> = order.iter().filter(|it| !alike(it)).copied().collect();
        // The fewest packs with which it can be placed.
        (1..=200).find_map(|more| {
            let own_row = [(index, before + more)];
            let with: Vec<(usize, i64)> = rest.iter().copied().chain(own_row).collect();
            let cost = cost(sellers, offers, &with)?;
            let mut there = there.to_vec();
            there[own.part] += more * own.pack_size;
            Some((cost - paid, chance_of(wear, &there)))
        })
    };
    (0..offers.len()).filter_map(purchase).collect()
}

fn chance_of(wear: &[(f64, f64, f64)], there: &[i64]) -> f64 {
    let each = wear.iter().zip(there);
    each.map(|(wear, there)| lasts(*wear, *there)).product()
}

/// Whether a gain at a cost is more for the money than another, by more than rounding.
fn is_more(one: (i64, f64), other: (i64, f64)) -> bool {
    const ROUNDING: f64 = 1e-11;
    #[expect(clippy::cast_precision_loss, reason = "small sums")]
    match (one.0 > 0, other.0 > 0) {
        (true, true) => (one.1 - ROUNDING) * other.0 as f64 > (other.1 + ROUNDING) * one.0 as f64,
        (true, false) => false,
        (false, true) => true,
        (false, false) => {
            one.1 > other.1 + ROUNDING || (one.1.total_cmp(&other.1).is_eq() && one.0 < other.0)
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_single_purchase_buys_more_chance_for_the_money(
        market in all_orders::market(3),
        wear in prop::collection::vec((0.5..8.0_f64, 5.0..50.0_f64, 5.0..40.0_f64), 3),
        there in prop::collection::vec(0..6_i64, 3),
        packs in prop::collection::vec(0..4_i64, 6),
    ) {
        let (sellers, offers) = (market.suppliers(), market.offers());
        let order: Vec<(usize, i64)> = (0..offers.len())
            .zip(packs)
            .filter(|(_, packs)| *packs > 0)
            .collect();
        let lines: Vec<JobLine> = wear
            .iter()
            .zip(&there)
            .map(|((shape, rate, exposure), there)| line(*shape, *rate, *exposure, *there))
            .collect();
        let now = chance_of(&wear, &there);
        let all = every_purchase((sellers, offers), &wear, (&there, &order));
        let gains: Vec<(i64, f64)> = all.iter().map(|(cost, chance)| (*cost, chance - now)).collect();
        match next(&market, &lines, &order) {
            None => prop_assert!(gains.iter().all(|it| it.1 < 1.01e-9), "{:?}", gains),
            Some(told) => {
                let is_told = |it: &&(i64, f64)| it.0 == told.cost_minor && (it.1 - told.chance).abs() < 1e-9;
                let own = all.iter().find(is_told);
                prop_assert!(own.is_some(), "{:?} {:?}", told, all);
                let own = own.map(|(cost, chance)| (*cost, chance - now)).expect("asserted");
                prop_assert!(own.1 > 0.99e-9, "{:?} {:?}", told, gains);
                let better = gains.iter().find(|it| it.1 > 1.01e-9 && is_more(**it, own));
                prop_assert_eq!(better, None, "{:?} {:?}", told, gains);
            }
        }
    }
}
