//! Arrivals and last order times over the year end of scenario S6, and what must hold for any.

use proptest::prelude::*;

use super::*;

fn date(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).expect("a date")
}

fn time(hour: u32, minute: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, minute, 0).expect("a time")
}

/// Shut from 25 December to 1 January, both included.
fn millrace() -> OpenDays {
    OpenDays::new(date(2026, 12, 25).iter_days().take(8))
}

/// Shut on 25 December and on 1 January.
fn farhaven() -> OpenDays {
    OpenDays::new([date(2026, 12, 25), date(2027, 1, 1)])
}

#[test]
fn an_order_after_the_cut_off_before_the_holidays_arrives_in_the_new_year() {
    // Tuesday 22 December 14:20 counts as Wednesday 23.
    let order = date(2026, 12, 22).and_time(time(14, 20));
    assert_eq!(millrace().arrival(order, time(12, 0), 5), date(2027, 1, 7));
    assert_eq!(
        farhaven().arrival(order, time(12, 0), 12),
        date(2027, 1, 12)
    );
}

#[test]
fn the_last_order_that_is_there_before_the_start_is_known() {
    let start = date(2027, 1, 4);
    let last = date(2026, 12, 17).and_time(time(12, 0));
    assert_eq!(millrace().order_by(start, time(12, 0), 5), last);
    assert_eq!(millrace().arrival(last, time(12, 0), 5), date(2026, 12, 24));
    // One day later it would come during the day of the start.
    let late = date(2026, 12, 18).and_time(time(12, 0));
    assert_eq!(millrace().arrival(late, time(12, 0), 5), start);
}

/// Shut from 24 December to 3 January, as a closure.
fn quayhead() -> OpenDays {
    OpenDays::without([(date(2026, 12, 24), date(2027, 1, 3))]).expect("a calendar")
}

#[test]
fn a_closure_is_all_its_days() {
    let by_days = OpenDays::new(date(2026, 12, 24).iter_days().take(11));
    for day in date(2026, 12, 20).iter_days().take(20) {
        assert_eq!(quayhead().is_open(day), by_days.is_open(day), "{day}");
    }
}

#[test]
fn what_a_supplier_has_none_of_comes_when_it_has_some() {
    // Scenario S6: at the counter, but none until Friday 8 January.
    let order = date(2026, 12, 22).and_time(time(14, 20));
    let until = Some(date(2027, 1, 8));
    let (noon, friday) = (time(12, 0), date(2027, 1, 8));
    assert_eq!(quayhead().arrival_from(order, (noon, 0), until), friday);
    // A day later with one open day on the way: Monday.
    assert_eq!(
        quayhead().arrival_from(order, (noon, 1), until),
        date(2027, 1, 11)
    );
    // What it had again before the order does not matter.
    let past = Some(date(2026, 12, 1));
    assert_eq!(
        quayhead().arrival_from(order, (noon, 0), past),
        date(2026, 12, 23)
    );
    assert_eq!(
        quayhead().arrival_from(order, (noon, 0), None),
        date(2026, 12, 23)
    );
}

#[test]
fn the_open_days_that_an_order_took_are_counted_from_the_day_it_counted_as() {
    let order = date(2026, 12, 22).and_time(time(14, 20));
    let noon = time(12, 0);
    assert_eq!(millrace().taken(order, noon, date(2027, 1, 7)), 5);
    assert_eq!(millrace().taken(order, noon, date(2027, 1, 9)), 6);
    assert_eq!(millrace().taken(order, noon, date(2026, 12, 22)), 0);
}

#[test]
fn a_supplier_that_never_opens_is_told() {
    let shut = OpenDays::without([(date(2026, 1, 1), date(2099, 12, 31))]).expect("a calendar");
    let from = date(2026, 6, 15);
    let error = shut.open_from(from).expect_err("never open");
    assert_eq!(error, CalendarError::NeverOpen { from });
    assert!(error.to_string().contains("2026-06-15"), "{error}");
    assert_eq!(
        quayhead().open_from(date(2026, 12, 24)),
        Ok(date(2027, 1, 4))
    );
    let backwards = OpenDays::without([(date(2027, 1, 3), date(2026, 12, 24))]);
    assert!(backwards.is_err());
}

#[test]
fn the_cut_off_itself_is_still_in_time() {
    let monday = date(2026, 6, 15);
    let open = OpenDays::weekdays();
    assert_eq!(
        open.arrival(monday.and_time(time(12, 0)), time(12, 0), 1),
        date(2026, 6, 16)
    );
    assert_eq!(
        open.arrival(monday.and_time(time(12, 1)), time(12, 0), 1),
        date(2026, 6, 17)
    );
}

#[test]
fn an_order_at_the_weekend_counts_as_monday_whatever_the_hour() {
    let open = OpenDays::weekdays();
    for (day, hour) in [(13, 8), (13, 18), (14, 8)] {
        let order = date(2026, 6, day).and_time(time(hour, 0));
        assert_eq!(open.arrival(order, time(12, 0), 1), date(2026, 6, 16));
    }
    let saturday = date(2026, 6, 13).and_time(time(8, 0));
    assert_eq!(open.arrival(saturday, time(12, 0), 0), date(2026, 6, 15));
}

#[test]
fn the_ends_of_the_calendar_and_absurd_lead_times_do_not_panic() {
    let open = OpenDays::weekdays();
    let end = NaiveDate::MAX.and_time(time(23, 0));
    assert_eq!(open.arrival(end, time(12, 0), u32::MAX), NaiveDate::MAX);
    assert_eq!(
        open.order_by(NaiveDate::MIN, time(12, 0), u32::MAX).date(),
        NaiveDate::MIN
    );
}

proptest! {
    #[test]
    fn the_last_order_is_in_time_and_one_a_minute_later_is_not(
        closed in prop::collection::btree_set(0_u64..60, 0..20),
        start in 30_u64..90,
        lead_days in 0_u32..15,
        cut_off in 1_u32..23,
    ) {
        let epoch = date(2026, 11, 20);
        let day = |offset: u64| epoch.checked_add_days(Days::new(offset)).expect("a date");
        let open = OpenDays::new(closed.into_iter().map(day));
        let cut_off = time(cut_off, 0);
        let last = open.order_by(day(start), cut_off, lead_days);
        prop_assert!(open.arrival(last, cut_off, lead_days) < day(start));
        let later = last.checked_add_signed(chrono::TimeDelta::minutes(1)).expect("a time");
        prop_assert!(open.arrival(later, cut_off, lead_days) >= day(start));
    }
}
