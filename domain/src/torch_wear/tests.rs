//! The figures of the scenario, worked out by direct summation, and what must hold for any torch.

use super::*;
use crate::advice::Polarity;
use crate::dice::Dice;
use crate::part::PartKind;
use crate::special::real;
use crate::wear::Gamma;

mod simulation;

/// The rate of the other torches in the scenario.
fn others() -> Gamma {
    Gamma::new(60.0, 430.0).expect("a rate")
}

/// P(N <= k), term by term from the definition.
fn cdf_by_sum(k: u32, size: f64, rate: f64, exposure: f64) -> f64 {
    let q = exposure / (rate + exposure);
    let mut term = (rate / (rate + exposure)).powf(size);
    let mut sum = 0.0;
    for i in 0..=k {
        sum += term;
        term *= q * (size + f64::from(i)) / (f64::from(i) + 1.0);
    }
    sum
}

fn days(each: &[(i64, f64, u64)]) -> Vec<WorkDay> {
    let day = |(day, exposure, used): &(i64, f64, u64)| WorkDay {
        day: *day,
        exposure: *exposure,
        used: *used,
    };
    each.iter().map(day).collect()
}

#[test]
fn ten_in_24_hours_where_3_3_are_expected_is_one_in_300() {
    let found = window(&days(&[(0, 24.0, 10)]), 0, &others()).expect("a window");
    assert!((found.tail - (1.0 - cdf_by_sum(9, 60.0, 430.0, 24.0))).abs() < 1e-12);
    assert!((found.tail - 0.0033).abs() < 5e-5, "{}", found.tail);
    assert!((found.expected - 3.3).abs() < 0.05, "{}", found.expected);
}

#[test]
fn the_ratio_of_the_scenario_is_from_1_1_to_3_1_about_1_9() {
    let torch = Gamma::new(2.0, 20.0).and_then(|it| it.posterior(10, 24.0));
    let times = Ratio::new(torch.expect("a rate"), others());
    for (p, expected) in [(0.05, 1.1), (0.5, 1.9), (0.95, 3.1)] {
        let found = times.quantile(p);
        assert!((found - expected).abs() < 0.06, "{p}: {found}");
        assert!((times.cdf(found) - p).abs() < 1e-9);
    }
    assert!(times.quantile(0.0) <= 0.0 && times.quantile(f64::NAN).is_infinite());
    assert!(times.cdf(-1.0) <= 0.0);
}

#[test]
fn the_ratio_is_that_of_gammas_that_are_drawn() {
    let mut dice = Dice::new(5);
    for (a1, b1, a2, b2) in [(12.0, 44.0, 60.0, 430.0), (0.7, 3.0, 2.5, 40.0)] {
        let times = Ratio::new(
            Gamma::new(a1, b1).expect("a rate"),
            Gamma::new(a2, b2).expect("a rate"),
        );
        let draws = 200_000_u32;
        for p in [0.05, 0.5, 0.95] {
            let at = times.quantile(p);
            let below = (0..draws)
                .filter(|_| dice.gamma(a1) / b1 <= at * dice.gamma(a2) / b2)
                .count();
            let share = real(u64::try_from(below).expect("a count")) / f64::from(draws);
            // Four standard errors.
            let error = (p * (1.0 - p) / f64::from(draws)).sqrt();
            assert!((share - p).abs() < 4.0 * error, "{a1} {p}: {share}");
        }
    }
}

#[test]
fn two_exponentials_have_a_ratio_that_is_known_by_hand() {
    // X and Y exponential of rate 2 and 3: P(X/Y <= r) = 2r / (2r + 3).
    let times = Ratio::new(
        Gamma::new(1.0, 2.0).expect("a rate"),
        Gamma::new(1.0, 3.0).expect("a rate"),
    );
    for r in [1e-6, 0.5, 1.0, 4.0, 1e6] {
        assert!(
            (times.cdf(r) - 2.0 * r / (2.0 * r + 3.0)).abs() < 1e-12,
            "{r}"
        );
    }
    assert!((times.quantile(0.5) - 1.5).abs() < 1e-9);
}

#[test]
fn the_scan_finds_the_day_on_which_it_began() {
    // A month as the others, then ten in 24 hours over eight days from day 40 on.
    let mut record: Vec<(i64, f64, u64)> =
        (0..20).map(|i| (i, 3.0, u64::from(i % 3 == 0))).collect();
    record.extend((0..8).map(|i| (40 + i, 3.0, if i < 2 { 2 } else { 1 })));
    let found = scan(&days(&record), &others()).expect("a reading");
    let strongest = found.strongest.expect("something was used");
    assert_eq!((strongest.start, strongest.used), (40, 10));
    // Every window by hand, the days without use included: none has a smaller tail.
    for (start, _, _) in &record {
        let by_hand = window(&days(&record), *start, &others()).expect("a window");
        assert!(strongest.tail <= by_hand.tail, "{start}");
    }
    // Seven days of the month and all eight after it.
    assert_eq!(found.windows, 15);
    assert!(found.is_over() && found.is_large(), "{found:?}");
}

#[test]
fn without_use_there_is_nothing_to_read() {
    let found = scan(&days(&[(0, 40.0, 0)]), &others()).expect("a reading");
    assert_eq!((found.strongest, found.windows), (None, 0));
    assert!(!found.is_over());
    assert!(scan(&days(&[(0, -1.0, 1)]), &others()).is_err());
    assert!(scan(&days(&[(0, f64::NAN, 1)]), &others()).is_err());
    // Use without any work is as unlikely as can be, and still a number.
    let found = scan(&days(&[(0, 0.0, 3)]), &others()).expect("a reading");
    assert!(
        found
            .strongest
            .is_some_and(|it| it.tail > 0.0 && it.tail.is_finite())
    );
}

#[test]
fn the_limit_falls_with_the_number_of_windows() {
    assert!((limit(0) - LIMIT_MAX).abs() < 1e-15 && (limit(8) - LIMIT_MAX).abs() < 1e-15);
    // 0.021 / 64^(2/3) = 0.021 / 16.
    assert!((limit(64) - 0.021 / 16.0).abs() < 1e-12);
    for windows in 1..400 {
        assert!(limit(windows + 1) <= limit(windows));
    }
}

/// A reading that is over the limit or not, with so many pieces.
fn reading(over: bool, used: u64) -> Reading {
    let strongest = Window {
        start: 0,
        used,
        exposure: 24.0,
        expected: 3.3,
        tail: if over { 0.001 } else { 0.2 },
    };
    Reading {
        strongest: Some(strongest),
        windows: 8,
        limit: limit(8),
    }
}

#[test]
fn an_alarm_takes_two_readings_in_a_row_or_ten_pieces() {
    let mut small = Episode::default();
    assert!(!small.check(0, &reading(true, 6)));
    assert!(!small.check(7, &reading(false, 6)));
    assert!(!small.check(14, &reading(true, 6)));
    assert!(small.check(21, &reading(true, 7)));
    assert_eq!((small.raised_on(), small.readings_over()), (Some(21), 2));
    // It is raised once.
    assert!(!small.check(28, &reading(true, 12)));
    let mut large = Episode::default();
    assert!(large.check(0, &reading(true, 10)));
}

#[test]
fn an_alarm_stands_until_four_readings_in_a_row_are_below() {
    let mut episode = Episode::default();
    episode.check(0, &reading(true, 10));
    for day in [7, 14, 21] {
        episode.check(day, &reading(false, 10));
        assert_eq!(episode.raised_on(), Some(0));
    }
    episode.check(28, &reading(true, 10));
    for day in [35, 42, 49] {
        episode.check(day, &reading(false, 10));
    }
    assert_eq!(episode.raised_on(), Some(0));
    episode.check(56, &reading(false, 10));
    assert_eq!(episode.raised_on(), None);
}

#[test]
fn who_worked_is_asked_before_a_fault_is_looked_for() {
    let found = |all, by_group, alarm, left_out, grinding| Findings {
        all: reading(all, 10),
        by_group: reading(by_group, 10),
        alarm,
        left_out,
        grinding,
    };
    let same = Grinding::Unchanged;
    let told = [
        (found(false, false, false, false, same), Verdict::Normal),
        (found(true, true, false, false, same), Verdict::High),
        (found(true, true, true, false, same), Verdict::Alarm),
        // Beginners whose pace is known, at their pace.
        (found(true, false, false, false, same), Verdict::Explained),
        // Beginners whose pace is not known: only with more grinding.
        (
            found(true, false, false, true, Grinding::Risen),
            Verdict::Explained,
        ),
        (
            found(true, false, false, true, Grinding::NotLogged),
            Verdict::Explained,
        ),
        (found(true, false, false, true, same), Verdict::Untold),
    ];
    for (found, expected) in told {
        assert_eq!(verdict(&found), expected, "{found:?}");
    }
}

#[test]
fn three_grinds_an_hour_against_2_9_is_no_rise() {
    let pace = |grinds, hours| Pace { grinds, hours };
    let others = pace(1_189, 410.0);
    assert_eq!(grinding(pace(72, 24.0), others), Grinding::Unchanged);
    assert_eq!(grinding(pace(216, 24.0), others), Grinding::Risen);
    assert_eq!(grinding(pace(96, 24.0), others), Grinding::Unclear);
    assert_eq!(grinding(pace(0, 24.0), others), Grinding::NotLogged);
    assert_eq!(grinding(pace(72, 0.0), others), Grinding::NotLogged);
}

#[test]
fn one_in_12_hours_after_the_repair_looks_normal() {
    let before = window(&days(&[(0, 24.0, 10)]), 0, &others()).expect("a window");
    let after = FollowUp::new(&before, (1, 12.0), &others()).expect("a follow-up");
    assert!((after.expected - 1.7).abs() < 0.05, "{after:?}");
    assert!((after.as_few_if_normal - cdf_by_sum(1, 60.0, 430.0, 12.0)).abs() < 1e-12);
    assert!((after.as_few_if_normal - 0.50).abs() < 0.005, "{after:?}");
    assert!(
        (after.as_few_if_unchanged - 0.04).abs() < 0.005,
        "{after:?}"
    );
    assert_eq!(after.outcome, Outcome::LooksNormal);
    assert!(after.to_wait <= 0.0);
}

#[test]
fn a_repair_is_not_judged_too_early_and_not_let_off() {
    let before = window(&days(&[(0, 24.0, 10)]), 0, &others()).expect("a window");
    let early = FollowUp::new(&before, (0, 2.0), &others()).expect("a follow-up");
    assert_eq!(early.outcome, Outcome::TooEarly);
    // Nothing used: exp(-10/24 T) = 0.05 at T = 7.19 hours.
    assert!(
        (early.to_wait + 2.0 - 20.0_f64.ln() * 2.4).abs() < 1e-6,
        "{early:?}"
    );
    let still = FollowUp::new(&before, (6, 12.0), &others()).expect("a follow-up");
    assert_eq!(still.outcome, Outcome::StillFast);
    let unused = window(&days(&[(0, 24.0, 0)]), 0, &others()).expect("a window");
    assert_eq!(
        FollowUp::new(&unused, (0, 1.0), &others()),
        Err(FollowUpError::NoOldRate)
    );
}

fn order(evidence: &Evidence) -> Vec<Check> {
    ranked(evidence).into_iter().map(|it| it.check).collect()
}

#[test]
fn the_checks_of_the_scenario_stand_in_its_order() {
    let evidence = Evidence {
        changed: vec![PartKind::BackCap],
        polarity: Some(Polarity::Dcen),
        ..Evidence::default()
    };
    assert_eq!(order(&evidence), Check::ALL);
    let told = ranked(&evidence);
    assert_eq!(told[1].reasons, [Reason::Changed(PartKind::BackCap)]);
}

#[test]
fn what_is_known_moves_a_check_up() {
    let second = |evidence: Evidence| order(&evidence)[1];
    let changed = |kind| Evidence {
        changed: vec![kind],
        ..Evidence::default()
    };
    assert_eq!(second(changed(PartKind::Cup)), Check::Gas);
    assert_eq!(second(changed(PartKind::Collet)), Check::Collet);
    assert_eq!(second(changed(PartKind::Electrode)), Check::Class);
    let seen = |sign| Evidence {
        signs: vec![sign],
        ..Evidence::default()
    };
    assert_eq!(second(seen(Sign::GreyTip)), Check::Gas);
    assert_eq!(second(seen(Sign::AboveBand)), Check::Current);
    let on = |polarity| Evidence {
        polarity: Some(polarity),
        ..Evidence::default()
    };
    assert_eq!(second(on(Polarity::Dcep)), Check::Polarity);
    let ac = order(&on(Polarity::Ac));
    assert_eq!((ac[1], ac[7]), (Check::Balance, Check::Polarity));
    // The record costs nothing to look at.
    assert_eq!(ac[0], Check::Record);
}
