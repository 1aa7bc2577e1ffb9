//! Open days of a supplier: when an order arrives, and by when it must be placed. Local dates and
//! times only; which zone they are in is the caller's business.

use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, NaiveTime, Weekday};
use thiserror::Error;

#[cfg(test)]
mod tests;

/// Longer than any year.
const YEAR_DAYS: usize = 366;

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
    /// First and last day of each closure.
    closed: Vec<(NaiveDate, NaiveDate)>,
}

/// Why a calendar gives no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum CalendarError {
    /// A closure that ends before it begins.
    #[error("a closure from {first} to {last} ends before it begins: swap its days")]
    Backwards {
        /// Its first day.
        first: NaiveDate,
        /// Its last day.
        last: NaiveDate,
    },
    /// Nothing but closures for a year.
    #[error("there is no open day from {from} on within a year: shorten the closures")]
    NeverOpen {
        /// The day from which an open one was looked for.
        from: NaiveDate,
    },
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
            closed: closed.into_iter().map(|day| (day, day)).collect(),
        }
    }

    /// Monday to Friday without closures, each from its first day to its last, both included.
    ///
    /// # Errors
    /// [`CalendarError::Backwards`] for a closure that ends before it begins.
    pub fn without(
        closures: impl IntoIterator<Item = (NaiveDate, NaiveDate)>,
    ) -> Result<Self, CalendarError> {
        let closed: Vec<(NaiveDate, NaiveDate)> = closures.into_iter().collect();
        match closed.iter().find(|(first, last)| last < first) {
            Some((first, last)) => Err(CalendarError::Backwards {
                first: *first,
                last: *last,
            }),
            None => Ok(Self { closed }),
        }
    }

    /// Whether the supplier works on a day.
    pub fn is_open(&self, day: NaiveDate) -> bool {
        let is_closed = |closure: &(NaiveDate, NaiveDate)| (closure.0..=closure.1).contains(&day);
        !matches!(day.weekday(), Weekday::Sat | Weekday::Sun) && !self.closed.iter().any(is_closed)
    }

    /// The first open day from a day on.
    ///
    /// # Errors
    /// [`CalendarError::NeverOpen`] if there is none within a year.
    pub fn open_from(&self, from: NaiveDate) -> Result<NaiveDate, CalendarError> {
        let mut days = from.iter_days().take(YEAR_DAYS);
        days.find(|day| self.is_open(*day))
            .ok_or(CalendarError::NeverOpen { from })
    }

    /// The day an order arrives where the supplier has none before a day: the lead time runs from the
    /// first open day from then on, if that is later than the day the order counts as.
    pub fn arrival_from(
        &self,
        order: NaiveDateTime,
        (cut_off, lead_days): (NaiveTime, u32),
        none_until: Option<NaiveDate>,
    ) -> NaiveDate {
        let at_once = self.arrival(order, cut_off, lead_days);
        let stocked =
            none_until.map(|day| self.arrival(day.and_time(NaiveTime::MIN), cut_off, lead_days));
        stocked.map_or(at_once, |stocked| stocked.max(at_once))
    }

    /// The open days that an order took: 0 if it arrived on the day it counted as, or before. What
    /// arrives on a closed day took as many as to the open day before it.
    pub fn taken(&self, order: NaiveDateTime, cut_off: NaiveTime, arrived: NaiveDate) -> u32 {
        let mut day = self.arrival(order, cut_off, 0);
        let mut taken = 0;
        while taken < Self::LEAD_DAYS_MAX {
            day = self.open_after(day);
            if day > arrived {
                break;
            }
            taken += 1;
        }
        taken
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
        // Two years are beyond any answer that is of use; closures for ever end there.
        for _ in 0..2 * YEAR_DAYS {
            let Some(next) = step(day) else { break };
            day = next;
            if self.is_open(day) {
                break;
            }
        }
        day
    }
}
