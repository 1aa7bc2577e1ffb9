//! The fold of facts: any order of arrival gives the same book, entry by entry or at once.

use proptest::prelude::*;

use super::*;

fn at(seconds: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(1_780_000_000 + seconds, 0).expect("an instant")
}

fn movement(seconds: i64, quantity: i64) -> Fact {
    Fact::Movement {
        at: at(seconds),
        quantity,
    }
}

fn count(seconds: i64, counted: i64, id: u128) -> Fact {
    Fact::Count(Count {
        at: at(seconds),
        counted,
        id,
    })
}

/// On hand after the facts in this order, entry by entry.
fn entry_by_entry(facts: &[Fact]) -> Result<OnHand, LedgerError> {
    let mut state = OnHand::default();
    for (index, fact) in facts.iter().enumerate() {
        state = match fact {
            Fact::Movement { at, quantity } => state.apply_movement(*at, *quantity)?,
            Fact::Count(count) => {
                let later = facts[..index].iter().map(|earlier| match earlier {
                    Fact::Movement { at, quantity } if *at > count.at => *quantity,
                    Fact::Movement { .. } | Fact::Count(_) => 0,
                });
                state.apply_count(count, later.sum())?
            }
        };
    }
    Ok(state)
}

fn book(facts: &[Fact]) -> i64 {
    on_hand(facts.iter().copied()).expect("a book").on_hand
}

#[test]
fn without_a_count_the_book_starts_at_nothing() {
    assert_eq!(book(&[]), 0);
    assert_eq!(book(&[movement(1, 10), movement(2, -3)]), 7);
    // A receipt is missing: the book says so and is not forced to zero.
    assert_eq!(book(&[movement(1, -2)]), -2);
}

#[test]
fn a_count_stands_for_all_that_happened_up_to_its_instant() {
    let facts = [
        movement(1, 10),
        count(5, 7, 1),
        movement(5, -1),
        movement(6, -2),
    ];
    assert_eq!(book(&facts), 5);
    // An issue of before the count that is logged afterwards is already in the count.
    let late = [count(5, 7, 1), movement(6, -2), movement(3, -4)];
    assert_eq!(entry_by_entry(&late).map(|state| state.on_hand), Ok(5));
}

#[test]
fn of_two_counts_at_one_instant_the_larger_id_wins() {
    for facts in [
        [count(5, 7, 1), count(5, 3, 2)],
        [count(5, 3, 2), count(5, 7, 1)],
    ] {
        assert_eq!(book(&facts), 3);
        assert_eq!(entry_by_entry(&facts).map(|state| state.on_hand), Ok(3));
    }
}

#[test]
fn an_older_count_is_history() {
    let facts = [count(9, 4, 1), count(5, 7, 2)];
    assert_eq!(entry_by_entry(&facts).map(|state| state.on_hand), Ok(4));
}

#[test]
fn a_receipt_moved_to_the_right_part_explains_both_books() {
    // Scenario S7: the receipt of 10 belongs to the collet, not to the collet body.
    let (collet, body) = (movement(1, -2), [movement(1, 3), movement(2, 10)]);
    assert_eq!((book(&[collet]), book(&body)), (-2, 13));
    let moved = [movement(2, 10), movement(2, -10)];
    let (collet, body) = (
        book(&[collet, moved[0]]),
        book(&[body[0], body[1], moved[1]]),
    );
    assert_eq!((collet, body), (8, 3));
    // Counted 7 and 3.
    assert_eq!((7 - collet, 3 - body), (-1, 0));
}

#[test]
fn a_negative_count_and_an_overflow_are_refused() {
    let below = [count(1, -1, 1)];
    assert_eq!(on_hand(below), Err(LedgerError::NegativeCount(-1)));
    assert_eq!(entry_by_entry(&below), Err(LedgerError::NegativeCount(-1)));
    let much = [movement(1, i64::MAX), movement(2, 1)];
    assert_eq!(on_hand(much), Err(LedgerError::Overflow));
    assert_eq!(entry_by_entry(&much), Err(LedgerError::Overflow));
}

#[test]
fn only_use_logged_or_not_and_returns_feed_the_wear_rate() {
    let events: Vec<i64> = MovementKind::ALL
        .iter()
        .map(|kind| kind.wear_events(4))
        .collect();
    // Receipt, issue, return, scrap, adjustment, hold, release, transfer, supplier-return, unlogged
    // use, allocation.
    assert_eq!(events, [0, 4, -4, 0, 0, 0, 0, 0, 0, 4, 0]);
    let on_hand: Vec<i64> = MovementKind::ALL
        .iter()
        .map(|kind| kind.on_hand_sign())
        .collect();
    assert_eq!(on_hand, [1, -1, 1, -1, 1, 0, 0, 1, -1, -1, 0]);
    let on_hold: Vec<i64> = MovementKind::ALL
        .iter()
        .map(|kind| kind.on_hold_sign())
        .collect();
    assert_eq!(on_hold, [0, 0, 0, 0, 0, 1, -1, 0, 0, 0, 0]);
    let allocated: Vec<i64> = MovementKind::ALL
        .iter()
        .map(|kind| kind.allocated_sign())
        .collect();
    assert_eq!(allocated, [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1]);
}

#[test]
fn available_and_position_follow_from_the_level() {
    let level = Level {
        on_hand: 9,
        allocated: 2,
        on_hold: 1,
        on_order: 10,
        barred: false,
    };
    assert_eq!(
        (level.available(), level.position(), level.usable()),
        (6, 16, 6)
    );
    let owed = Level {
        on_hand: -2,
        ..Level::default()
    };
    assert_eq!((owed.available(), owed.usable()), (-2, 0));
}

#[test]
fn where_a_part_is_barred_all_of_it_is_held_and_free_again_when_the_rule_is_lifted() {
    let free = Level {
        on_hand: 10,
        on_hold: 2,
        on_order: 5,
        ..Level::default()
    };
    let barred = Level {
        barred: true,
        ..free
    };
    assert_eq!(
        (barred.held(), barred.usable(), barred.position()),
        (10, 0, 0)
    );
    assert_eq!((free.held(), free.usable(), free.position()), (2, 8, 13));
    // What was set aside stays; the rest may leave for a site that permits it.
    assert_eq!((barred.movable(), free.movable()), (8, 8));
    let owed = Level {
        on_hand: -2,
        ..barred
    };
    assert_eq!((owed.held(), owed.available(), owed.movable()), (0, -2, 0));
}

/// Facts that often fall on one instant, counts with distinct ids, in any order.
fn facts() -> impl Strategy<Value = Vec<Fact>> {
    let fact = (any::<bool>(), 0_i64..8, -20_i64..20);
    prop::collection::vec(fact, 0..12)
        .prop_map(|all| {
            let fact = |(index, (is_count, second, quantity)): (usize, (bool, i64, i64))| {
                if is_count && quantity >= 0 {
                    count(
                        second,
                        quantity,
                        u128::try_from(index).expect("a small index"),
                    )
                } else {
                    movement(second, quantity)
                }
            };
            all.into_iter().enumerate().map(fact).collect::<Vec<Fact>>()
        })
        .prop_shuffle()
}

/// The same facts in two orders.
fn two_orders() -> impl Strategy<Value = (Vec<Fact>, Vec<Fact>)> {
    facts().prop_flat_map(|facts| (Just(facts.clone()), Just(facts).prop_shuffle()))
}

proptest! {
    #[test]
    fn the_order_of_arrival_is_of_no_account((facts, shuffled) in two_orders()) {
        let book = on_hand(facts);
        prop_assert_eq!(on_hand(shuffled.clone()), book);
        prop_assert_eq!(entry_by_entry(&shuffled), book);
    }

    #[test]
    fn a_movement_of_before_the_newest_count_never_changes_the_book(
        facts in facts(),
        quantity in -20_i64..20,
        earlier in 0_i64..5,
    ) {
        let state = on_hand(facts).expect("a book");
        if let Some((counted_at, _)) = state.counted {
            let at = counted_at - chrono::TimeDelta::seconds(earlier);
            prop_assert_eq!(state.apply_movement(at, quantity), Ok(state));
        }
    }

    #[test]
    fn a_movement_and_its_reversal_leave_the_book_as_it_was(
        facts in facts(),
        quantity in 1_i64..20,
        second in 0_i64..8,
    ) {
        let before = on_hand(facts.clone());
        let with_both = [movement(second, quantity), movement(second, -quantity)];
        prop_assert_eq!(on_hand(facts.into_iter().chain(with_both)), before);
    }
}
