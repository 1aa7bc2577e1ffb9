//! Silence: that of one warning, which always has an end, and the quiet hours of a site.

use chrono::{DateTime, Datelike, Days, NaiveDateTime, NaiveTime, TimeDelta, Utc, Weekday};
use thiserror::Error;

/// How long a warning can be silent at most, in days (product rule: a silence always ends).
pub const QUIET_DAYS_MAX: i64 = 92;

/// A warning is silent until an instant, or until no more than so many are on hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quiet {
    until: DateTime<Utc>,
    on_hand: Option<i64>,
}

/// Why a silence is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum QuietError {
    /// It ends before it begins.
    #[error("{0} is not after now: name an instant to come")]
    Over(DateTime<Utc>),
    /// It is too long.
    #[error("{0} is more than 92 days ahead: name an earlier end, or switch the watch off")]
    TooLong(DateTime<Utc>),
    /// It is until less than nothing is on hand.
    #[error("{0} pieces on hand cannot be: name 0 or more")]
    Pieces(i64),
}

impl Quiet {
    /// Silence from `now` until an instant at most 92 days ahead, or until `on_hand` or fewer are on
    /// hand, whichever comes first.
    ///
    /// # Errors
    /// [`QuietError`]: an end that is over or too far ahead, or pieces below zero.
    pub fn new(
        now: DateTime<Utc>,
        until: DateTime<Utc>,
        on_hand: Option<i64>,
    ) -> Result<Self, QuietError> {
        if until <= now {
            return Err(QuietError::Over(until));
        }
        if until - now > TimeDelta::days(QUIET_DAYS_MAX) {
            return Err(QuietError::TooLong(until));
        }
        match on_hand {
            Some(pieces) if pieces < 0 => Err(QuietError::Pieces(pieces)),
            Some(_) | None => Ok(Self { until, on_hand }),
        }
    }

    /// A silence as it was kept.
    pub fn kept(until: DateTime<Utc>, on_hand: Option<i64>) -> Self {
        Self { until, on_hand }
    }

    /// The instant at which it ends at the latest.
    pub fn until(&self) -> DateTime<Utc> {
        self.until
    }

    /// The number on hand at which it ends earlier.
    pub fn on_hand(&self) -> Option<i64> {
        self.on_hand
    }

    /// Whether it holds at an instant with so many on hand.
    pub fn holds(&self, now: DateTime<Utc>, on_hand: i64) -> bool {
        now < self.until && self.on_hand.is_none_or(|pieces| on_hand > pieces)
    }
}

/// The hours in which a site wants to hear nothing but safety: from a local time to another, over
/// midnight where the second is the earlier one, on nights or days that begin on some weekdays.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuietHours {
    from: NaiveTime,
    to: NaiveTime,
    weekdays: Vec<Weekday>,
}

/// Why hours are not quiet hours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum QuietHoursError {
    /// They are empty, or the whole day.
    #[error("quiet hours from {0} to {0} are none, or all: name two times that differ")]
    Empty(NaiveTime),
    /// No weekday is named.
    #[error("quiet hours on no weekday are none: name one, or leave the weekdays out for all")]
    Never,
}

impl QuietHours {
    /// Quiet hours on those weekdays.
    ///
    /// # Errors
    /// [`QuietHoursError`]: no hours, or no days.
    pub fn new(
        from: NaiveTime,
        to: NaiveTime,
        weekdays: Vec<Weekday>,
    ) -> Result<Self, QuietHoursError> {
        if from == to {
            return Err(QuietHoursError::Empty(from));
        }
        if weekdays.is_empty() {
            return Err(QuietHoursError::Never);
        }
        Ok(Self { from, to, weekdays })
    }

    /// Whether a local time is within them: from the first time on, and before the second.
    ///
    /// ```
    /// use chrono::{NaiveDate, NaiveTime, Weekday};
    /// use tigstock_domain::warning::QuietHours;
    /// let time = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    /// let nights = QuietHours::new(time(22), time(7), vec![Weekday::Fri]).unwrap();
    /// let at = |day, hour| NaiveDate::from_ymd_opt(2026, 6, day).unwrap().and_time(time(hour));
    /// // The night that begins on Friday 19 June ends on Saturday morning.
    /// assert!(nights.contains(at(19, 23)) && nights.contains(at(20, 6)));
    /// assert!(!nights.contains(at(20, 7)) && !nights.contains(at(19, 6)));
    /// ```
    pub fn contains(&self, local: NaiveDateTime) -> bool {
        let (time, day) = (local.time(), local.date());
        let begins_on = |day: chrono::NaiveDate| self.weekdays.contains(&day.weekday());
        if self.from < self.to {
            return (self.from..self.to).contains(&time) && begins_on(day);
        }
        let before = day.checked_sub_days(Days::new(1));
        (time >= self.from && begins_on(day)) || (time < self.to && before.is_some_and(begins_on))
    }
}
