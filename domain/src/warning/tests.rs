//! The low-stock warning of one electrode size step by step, and what holds for any sequence of
//! readings.

use chrono::{NaiveDate, NaiveTime, TimeDelta, TimeZone, Weekday};
use proptest::prelude::*;

use super::*;

fn at(month: u32, day: u32, hour: u32) -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2026, month, day, hour, 0, 0)
        .single()
        .expect("an instant")
}

fn moment(now: DateTime<Utc>) -> Moment {
    Moment {
        now,
        is_quiet_time: false,
        has_room: true,
        chance_limit: CHANCE_LIMIT,
    }
}

fn stock(available: i64, on_order: i64, chance: f64) -> Stock {
    Stock {
        point: 4,
        on_hand: available,
        available,
        on_order,
        late_from: (on_order > 0).then(|| at(6, 30, 12)),
        chance,
    }
}

#[test]
fn one_size_runs_low_is_told_once_and_closes_only_when_there_is_enough_again() {
    // Order point 4, that of 26 pieces in 220 hours over two weeks of 6 hours at 95 %.
    assert!(!stock(5, 0, 0.0).reading().opens(CHANCE_LIMIT));
    let (mut episode, told) = step(
        &Episode::open(WarningKind::OrderPoint, at(6, 17, 12)),
        &stock(4, 0, 0.0011).reading(),
        &moment(at(6, 17, 12)),
    );
    assert_eq!(told, Some(Happening::Told));
    // One more taken, one put back, ten ordered.
    for (day, now) in [
        (18, stock(3, 0, 0.0074)),
        (19, stock(4, 0, 0.0011)),
        (22, stock(4, 10, 0.0011)),
    ] {
        let (next, told) = step(&episode, &now.reading(), &moment(at(6, day, 12)));
        assert_eq!((told, next.closed_at), (None, None), "{day}");
        episode = next;
    }
    // Were only one left before the delivery: 1 - P(use <= 1) over 6 hours is 0.16.
    let worse = stock(1, 10, 0.1603).reading();
    let (louder, told) = step(&episode, &worse, &moment(at(6, 22, 18)));
    assert_eq!(told, Some(Happening::Escalated));
    let worst = stock(0, 10, 0.51).reading();
    assert_eq!(step(&louder, &worst, &moment(at(6, 23, 18))).1, None);
    // Ten came in.
    let (closed, told) = step(
        &episode,
        &stock(14, 0, 0.0).reading(),
        &moment(at(6, 29, 12)),
    );
    assert_eq!(told, Some(Happening::Closed));
    assert_eq!(
        closed.state(at(6, 29, 12), 14),
        WarningState::Closed,
        "{closed:?}"
    );
}

#[test]
fn what_is_on_order_in_time_is_told_only_when_it_is_late_or_will_not_do() {
    let opened = Episode::open(WarningKind::OrderPoint, at(6, 25, 12));
    let fine = Stock {
        on_order: 2,
        ..stock(1, 2, 0.05)
    }
    .reading();
    assert_eq!(step(&opened, &fine, &moment(at(6, 29, 12))).1, None);
    let late = step(&opened, &fine, &moment(at(6, 30, 12))).1;
    assert_eq!(late, Some(Happening::Told));
    let short = stock(1, 2, 0.11).reading();
    let told = step(&opened, &short, &moment(at(6, 26, 12))).1;
    assert_eq!(told, Some(Happening::Told));
}

#[test]
fn a_quiet_warning_says_nothing_until_its_end_and_safety_is_never_quiet() {
    let (now, low) = (at(6, 17, 12), stock(3, 0, 0.01).reading());
    let quiet = Quiet::new(now, at(6, 22, 8), Some(2)).expect("a silence");
    let mut episode = Episode::open(WarningKind::OrderPoint, now);
    episode.quiet = Some(quiet);
    assert_eq!(episode.state(now, 3), WarningState::Quiet);
    assert_eq!(step(&episode, &low, &moment(now)).1, None);
    let at_end = step(&episode, &low, &moment(at(6, 22, 8)));
    assert_eq!((at_end.1, at_end.0.quiet), (Some(Happening::Told), None));
    let at_two = step(&episode, &stock(2, 0, 0.01).reading(), &moment(now));
    assert_eq!(at_two.1, Some(Happening::Told));
    let mut barred = Episode::open(WarningKind::BarredUsed, now);
    barred.quiet = Some(quiet);
    let deep_in_the_night = Moment {
        is_quiet_time: true,
        has_room: false,
        ..moment(now)
    };
    let (told, happening) = step(&barred, &low, &deep_in_the_night);
    assert_eq!(happening, Some(Happening::Told));
    let (mut told, again) = step(&told, &low, &deep_in_the_night);
    assert_eq!(again, None);
    told.acknowledged_at = Some(now);
    let closed = step(&told, &low, &deep_in_the_night).1;
    assert_eq!(closed, Some(Happening::Closed));
}

#[test]
fn a_silence_without_an_end_to_come_is_none() {
    let now = at(6, 17, 12);
    assert_eq!(Quiet::new(now, now, None), Err(QuietError::Over(now)));
    let far = now + TimeDelta::days(93);
    assert_eq!(Quiet::new(now, far, Some(2)), Err(QuietError::TooLong(far)));
    let soon = now + TimeDelta::days(1);
    assert_eq!(Quiet::new(now, soon, Some(-1)), Err(QuietError::Pieces(-1)));
    let noon = NaiveTime::from_hms_opt(12, 0, 0).expect("a time");
    let empty = QuietHours::new(noon, noon, vec![Weekday::Mon]);
    assert_eq!(empty, Err(QuietHoursError::Empty(noon)));
    let one = NaiveTime::from_hms_opt(13, 0, 0).expect("a time");
    assert_eq!(
        QuietHours::new(noon, one, Vec::new()),
        Err(QuietHoursError::Never)
    );
    let lunch = QuietHours::new(noon, one, vec![Weekday::Wed]).expect("hours");
    let day = NaiveDate::from_ymd_opt(2026, 6, 17).expect("a Wednesday");
    assert!(lunch.contains(day.and_time(noon)) && !lunch.contains(day.and_time(one)));
}

#[test]
fn of_those_that_wait_the_weightiest_are_told() {
    assert_eq!(chosen(&[1.0, 8.0, 3.0], 2), [false, true, true]);
    assert_eq!(chosen(&[2.0, 2.0], 1), [true, false]);
    assert_eq!(chosen(&[2.0], 0), [false]);
    let now = at(6, 17, 12);
    let told = [
        now - TimeDelta::days(7),
        now - TimeDelta::days(6),
        now - TimeDelta::hours(1),
    ];
    // What is seven days old is out of the week.
    assert_eq!(room(told, now, 5), 3);
    assert_eq!(room(told, now, 1), 0);
}

/// What may happen between two looks.
#[derive(Debug, Clone)]
struct Turn {
    hours: i64,
    available: i64,
    on_order: i64,
    chance: f64,
    is_quiet_time: bool,
    quiet_hours: Option<i64>,
}

fn turn() -> impl Strategy<Value = Turn> {
    (
        0..72_i64,
        0..12_i64,
        prop_oneof![Just(0_i64), 1..12_i64],
        prop_oneof![Just(0.0), 0.0..1.0_f64],
        any::<bool>(),
        prop_oneof![4 => Just(None), 1 => (1..400_i64).prop_map(Some)],
    )
        .prop_map(
            |(hours, available, on_order, chance, is_quiet_time, quiet_hours)| Turn {
                hours,
                available,
                on_order,
                chance,
                is_quiet_time,
                quiet_hours,
            },
        )
}

proptest! {
    #[test]
    fn no_sequence_of_readings_makes_it_nag(
        turns in prop::collection::vec(prop::collection::vec(turn(), 3), 1..120),
        limit in 0..4_i64,
    ) {
        let mut now = at(1, 1, 0);
        let mut episodes: [Option<Episode>; 3] = [None, None, None];
        let mut pushed: Vec<DateTime<Utc>> = Vec::new();
        for turns in turns {
            now += TimeDelta::hours(turns[0].hours);
            for (open, turn) in episodes.iter_mut().zip(&turns) {
                let stock = Stock { late_from: Some(at(3, 1, 0)), ..stock(turn.available, turn.on_order, turn.chance) };
                let reading = stock.reading();
                if open.is_none() && reading.opens(CHANCE_LIMIT) {
                    *open = Some(Episode::open(WarningKind::OrderPoint, now));
                }
                let Some(mut before) = open.take() else { continue };
                if let Some(hours) = turn.quiet_hours {
                    before.quiet = Some(Quiet::new(now, now + TimeDelta::hours(hours), None).expect("a silence"));
                }
                let has_room = room(pushed.iter().copied(), now, limit) > 0;
                let moment = Moment { is_quiet_time: turn.is_quiet_time, has_room, ..moment(now) };
                let (after, happening) = step(&before, &reading, &moment);
                // The same reading again tells nothing.
                prop_assert_eq!(step(&after, &reading, &moment).1, None);
                match happening {
                    Some(Happening::Told) => {
                        prop_assert!(before.told.is_none() && !turn.is_quiet_time && has_room);
                        prop_assert!(stock.position() <= 4 || turn.chance > 0.1);
                        pushed.push(now);
                    }
                    Some(Happening::Escalated) => {
                        prop_assert!(before.escalated_at.is_none() && after.escalated_at.is_some());
                        let told = before.told.expect("told before");
                        prop_assert!(turn.chance > 0.1 && turn.chance >= 2.0 * told.chance);
                        pushed.push(now);
                    }
                    Some(Happening::Closed) => prop_assert!(turn.available >= 6),
                    None => prop_assert_eq!(before.told, after.told),
                }
                prop_assert_eq!(after.closed_at.is_some(), happening == Some(Happening::Closed));
                *open = Some(after).filter(|episode| episode.closed_at.is_none());
            }
        }
        for first in &pushed {
            let week = pushed.iter().filter(|at| **at >= *first && **at - *first < TimeDelta::weeks(1));
            prop_assert!(i64::try_from(week.count()).unwrap_or(i64::MAX) <= limit);
        }
    }
}
