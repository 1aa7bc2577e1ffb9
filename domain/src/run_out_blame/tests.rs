//! Run-outs found in histories that were worked out by hand, and the split of the blame against values
//! of every order in which causes can be taken away.

use chrono::TimeDelta;

use super::*;

fn day(number: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::days(number)
}

fn steps(facts: &[(i64, Change)]) -> Vec<Step> {
    let steps = facts.iter().map(|(number, change)| Step {
        at: day(*number),
        change: *change,
    });
    in_order(steps.collect())
}

#[test]
fn a_use_that_leaves_none_begins_a_run_out_and_goods_end_it() {
    let facts = steps(&[
        (0, Change::Counted(3)),
        (1, Change::Used(2)),
        (4, Change::Used(1)),
        (5, Change::Used(1)),
        (9, Change::Moved(10)),
    ]);
    let expected = RunOut {
        from: day(4),
        until: Some(day(9)),
        found: Found::Use,
        book: 1,
        rose_at: Some(day(0)),
    };
    assert_eq!(run_outs(&facts), [expected]);
}

#[test]
fn a_count_of_none_begins_one_where_the_book_had_some() {
    let facts = steps(&[
        (0, Change::Counted(8)),
        (3, Change::Used(3)),
        (7, Change::Counted(0)),
        (7, Change::Unlogged(4)),
    ]);
    let [found] = run_outs(&facts)[..] else {
        panic!("one run-out")
    };
    assert_eq!(
        (found.from, found.until, found.found, found.book),
        (day(7), None, Found::Count, 5)
    );
    assert_eq!(used(&facts, (day(0), day(7))), (3, 4));
    // Five were missing, and four of them were booked as used.
    assert_eq!(found.unexplained(&facts), 1);
}

#[test]
fn what_explains_a_count_changes_it_no_more() {
    let facts = steps(&[
        (0, Change::Counted(4)),
        (2, Change::Used(3)),
        (3, Change::Counted(1)),
        // It is dated before the count, so the count has it already.
        (3, Change::Used(1)),
        (4, Change::Used(1)),
    ]);
    assert_eq!(run_outs(&facts).len(), 1);
    assert_eq!(run_outs(&facts)[0].from, day(4));
}

#[test]
fn nobody_runs_out_of_what_was_never_there_or_was_only_moved_away() {
    assert!(run_outs(&[]).is_empty());
    assert!(run_outs(&steps(&[(0, Change::Counted(0)), (1, Change::Counted(0))])).is_empty());
    assert!(run_outs(&steps(&[(0, Change::Used(1))])).is_empty());
    let moved = [(0, Change::Moved(5)), (1, Change::Moved(-5))];
    assert!(run_outs(&steps(&moved)).is_empty());
    // Once somebody asks for it, it is one.
    let asked = [moved[0], moved[1], (2, Change::Used(1))];
    assert_eq!(run_outs(&steps(&asked))[0].from, day(2));
}

#[test]
fn a_use_that_was_taken_back_begins_no_run_out() {
    let facts = steps(&[
        (0, Change::Counted(1)),
        (2, Change::Used(1)),
        (2, Change::Used(-1)),
    ]);
    assert!(run_outs(&facts).is_empty());
}

#[test]
fn stock_is_low_since_it_last_fell_to_its_order_point() {
    let facts = steps(&[
        (0, Change::Counted(6)),
        (1, Change::Used(4)),
        (2, Change::Moved(10)),
        (5, Change::Used(8)),
        (6, Change::Used(2)),
        (8, Change::Used(2)),
    ]);
    let found = run_outs(&facts)[0];
    assert_eq!((found.from, found.rose_at), (day(8), Some(day(2))));
    assert_eq!(low_since(&facts, &found, 4), day(5));
    assert_eq!(low_since(&facts, &found, 3), day(6));
    // It was never above.
    assert_eq!(low_since(&facts, &found, 50), day(0));
    assert_eq!(used(&facts, (day(5), day(8))), (12, 0));
}

const NOTHING: Evidence = Evidence {
    logged: 0,
    expected: Some(0.0),
    unlogged: 0,
    late: 0,
    not_ordered: 0,
    unexplained: 0,
};

#[test]
fn one_cause_alone_has_all_the_blame() {
    for (cause, evidence) in [
        (
            Cause::UnloggedUse,
            Evidence {
                unlogged: 5,
                ..NOTHING
            },
        ),
        (
            Cause::LateDelivery,
            Evidence {
                late: 10,
                ..NOTHING
            },
        ),
        (
            Cause::Forecast,
            Evidence {
                logged: 5,
                expected: Some(1.2),
                ..NOTHING
            },
        ),
        (
            Cause::NotOrdered,
            Evidence {
                not_ordered: 10,
                ..NOTHING
            },
        ),
        (
            Cause::Rest,
            Evidence {
                unexplained: 2,
                ..NOTHING
            },
        ),
        // Use as expected, and nothing else: it is chance.
        (
            Cause::Rest,
            Evidence {
                logged: 3,
                expected: Some(3.0),
                ..NOTHING
            },
        ),
        (
            Cause::Rest,
            Evidence {
                logged: 3,
                expected: None,
                ..NOTHING
            },
        ),
    ] {
        let [part] = blame(&evidence)[..] else {
            panic!("{evidence:?}")
        };
        assert_eq!((part.cause, part.share), (cause, 1.0), "{evidence:?}");
    }
}

/// The value of each cause by its definition: what it adds to the stock that would have been there, on
/// average over all orders in which the causes are taken away one after the other.
fn shapley(amounts: &[f64; 4]) -> [f64; 4] {
    let mut sums = [0.0; 4];
    let mut orders = 0.0;
    for code in 0..256_usize {
        let order = [code & 3, code >> 2 & 3, code >> 4 & 3, code >> 6 & 3];
        if (0..4).any(|cause| !order.contains(&cause)) {
            continue;
        }
        orders += 1.0;
        let mut there = 0.0;
        for cause in order {
            let with = there + amounts[cause];
            sums[cause] += with - there;
            there = with;
        }
    }
    sums.map(|sum| sum / orders)
}

#[test]
fn a_mixture_is_split_as_every_order_of_taking_causes_away_splits_it_on_average() {
    for (unlogged, late, logged, expected, not_ordered) in [
        (5, 10, 9, 3.5, 0),
        (1, 0, 4, 2.25, 10),
        (2, 5, 1, 6.0, 0),
        (3, 3, 3, 0.0, 3),
    ] {
        let evidence = Evidence {
            logged,
            expected: Some(expected),
            unlogged,
            late,
            not_ordered,
            unexplained: 0,
        };
        let amounts = [unlogged, late, not_ordered].map(|it| f64::from(i32::try_from(it).unwrap()));
        let excess = (f64::from(i32::try_from(logged).unwrap()) - expected).max(0.0);
        let values = shapley(&[amounts[0], amounts[1], excess, amounts[2]]);
        let all: f64 = values.iter().sum();
        let causes = [
            Cause::UnloggedUse,
            Cause::LateDelivery,
            Cause::Forecast,
            Cause::NotOrdered,
        ];
        let parts = blame(&evidence);
        for (cause, value) in causes.into_iter().zip(values) {
            let part = parts.iter().find(|part| part.cause == cause);
            let share = part.map_or(0.0, |part| part.share);
            assert!(
                (share - value / all).abs() < 1e-12,
                "{cause:?} {evidence:?}"
            );
        }
        let sum: f64 = parts.iter().map(|part| part.share).sum();
        assert!((sum - 1.0).abs() < 1e-12, "{evidence:?}");
        assert!(parts.windows(2).all(|two| two[0].share >= two[1].share));
    }
}

#[test]
fn what_cannot_be_is_no_cause() {
    let odd = Evidence {
        logged: -3,
        expected: Some(f64::NAN),
        unlogged: -1,
        late: -1,
        not_ordered: -1,
        unexplained: -1,
    };
    let [part] = blame(&odd)[..] else { panic!() };
    assert_eq!((part.cause, part.share), (Cause::Rest, 1.0));
}
