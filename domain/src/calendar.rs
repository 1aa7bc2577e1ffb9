//! Open days of a supplier: when an order arrives, and by when it must be placed. Local dates and
//! times only; which zone they are in is the caller's business.

use std::collections::BTreeSet;

use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, NaiveTime, Weekday};

#[cfg(test)]
mod tests;

/// The days a supplier works: Monday to Friday without its closures.
///
/// ```
/// use chrono::{NaiveDate, NaiveTime};
/// use tigstock_domain::calendar::OpenDays;
/// let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap();
/// let monday = NaiveDate::from_ymd_opt(2026, 6, 15).unwrap();
/// // Ordered on a Monday afternoon, so it counts as Tuesday; three working days on is Friday.
/// let order = monday.and_hms_opt(13, 0, 0).unwrap();
/// assert_eq!(
///     OpenDays::weekdays().arrival(order, noon, 3),
///     NaiveDate::from_ymd_opt(2026, 6, 19).unwrap()
/// );
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OpenDays {
    closed: BTreeSet<NaiveDate>,
}

impl OpenDays {
    /// The longest lead time, in open days; a longer one counts as this.
    pub const LEAD_DAYS_MAX: u32 = 3_660;

    /// Every Monday to Friday.
    pub fn weekdays() -> Self {
        Self::default()
    }

    /// Monday to Friday without the days of `closed`.
    pub fn new(closed: impl IntoIterator<Item = NaiveDate>) -> Self {
        Self {
            closed: closed.into_iter().collect(),
        }
    }

    /// Whether the supplier works on a day.
    pub fn is_open(&self, day: NaiveDate) -> bool {
        !matches!(day.weekday(), Weekday::Sat | Weekday::Sun) && !self.closed.contains(&day)
    }

    /// The day an order arrives.
    ///
    /// An order up to the cut-off of an open day counts as that day, any other as the next open
    /// day; from there the lead time runs in open days. At the end of the calendar it stays there.
    pub fn arrival(&self, order: NaiveDateTime, cut_off: NaiveTime, lead_days: u32) -> NaiveDate {
        let is_late = order.time() > cut_off;
        let mut day = order.date();
        if is_late || !self.is_open(day) {
            day = self.open_after(day);
        }
        for _ in 0..lead_days.min(Self::LEAD_DAYS_MAX) {
            day = self.open_after(day);
        }
        day
    }

    /// The latest order that arrives on a day before `start`: on the bench when work begins, not
    /// during its first day.
    pub fn order_by(&self, start: NaiveDate, cut_off: NaiveTime, lead_days: u32) -> NaiveDateTime {
        let mut day = self.open_before(start);
        for _ in 0..lead_days.min(Self::LEAD_DAYS_MAX) {
            day = self.open_before(day);
        }
        day.and_time(cut_off)
    }

    fn open_after(&self, day: NaiveDate) -> NaiveDate {
        self.next_open(day, |day| day.checked_add_days(Days::new(1)))
    }

    fn open_before(&self, day: NaiveDate) -> NaiveDate {
        self.next_open(day, |day| day.checked_sub_days(Days::new(1)))
    }

    /// The next open day in steps of `step`, or the last day of the calendar.
    fn next_open(&self, from: NaiveDate, step: fn(NaiveDate) -> Option<NaiveDate>) -> NaiveDate {
        let mut day = from;
        while let Some(next) = step(day) {
            day = next;
            if self.is_open(day) {
                break;
            }
        }
        day
    }
}
