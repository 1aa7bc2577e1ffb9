//! Lulls: stretches of days on which a site does less work than usual, or more. What follows for a
//! forecast is not here, only the share of each day.

use chrono::NaiveDate;
use thiserror::Error;

#[cfg(test)]
mod tests;

/// How much of its usual work a site does on a day: 0 when it is shut, 1 as usual, 2 for twice as much.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Share(f64);

/// Whole days of one site, the first and the last included, and the share of each.
///
/// ```
/// use chrono::NaiveDate;
/// use tigstock_domain::lull::{Lull, Share, shares};
/// let day = |day| NaiveDate::from_ymd_opt(2026, 12, day).unwrap();
/// let shut = Lull::new(day(24), day(26), Share::new(0.0)?)?;
/// assert_eq!(shares(&[shut], day(23), 5), [1.0, 0.0, 0.0, 0.0, 1.0]);
/// # Ok::<(), tigstock_domain::lull::LullError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lull {
    first: NaiveDate,
    last: NaiveDate,
    share: Share,
}

/// Why something is no lull.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum LullError {
    /// The share is out of range.
    #[error("a share is from 0 (shut) to 5, with 1 as usual, not {0}; give one in that range")]
    Share(f64),
    /// A day is not of a year that is written with four digits, from 1970.
    #[error("{0} is out of range; give a day from 1970-01-01 to 9999-12-31")]
    Day(NaiveDate),
    /// The last day is before the first.
    #[error("{last} is before the first day, {first}; give that day or a later one")]
    Reversed {
        /// The first day.
        first: NaiveDate,
        /// The last day.
        last: NaiveDate,
    },
    /// There are too many days.
    #[error(
        "from {first} to {last} are {days} days; give at most 366, and another lull for the rest"
    )]
    TooLong {
        /// The first day.
        first: NaiveDate,
        /// The last day.
        last: NaiveDate,
        /// How many they are.
        days: i64,
    },
}

impl Share {
    /// A day like any other.
    pub const USUAL: Self = Self(1.0);

    /// The greatest share: more is a slip of the pen rather than a rush.
    pub const MAX: f64 = 5.0;

    /// The share of that number.
    ///
    /// # Errors
    /// [`LullError::Share`] outside 0 to [`Share::MAX`].
    pub fn new(share: f64) -> Result<Self, LullError> {
        if (0.0..=Self::MAX).contains(&share) {
            Ok(Self(share.abs())) // -0 is in the range too
        } else {
            Err(LullError::Share(share))
        }
    }

    /// The number, from 0 to 5.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl Lull {
    /// The most days of one lull: a leap year.
    pub const DAYS_MAX: i64 = 366;

    /// The lull of those days.
    ///
    /// # Errors
    /// [`LullError`] if a day is before 1970 or after 9999, the last is before the first, or they
    /// are more than [`Lull::DAYS_MAX`].
    pub fn new(first: NaiveDate, last: NaiveDate, share: Share) -> Result<Self, LullError> {
        if let Some(day) = [first, last].into_iter().find(|day| !is_in_range(*day)) {
            return Err(LullError::Day(day));
        }
        let days = (last - first).num_days() + 1;
        if days < 1 {
            return Err(LullError::Reversed { first, last });
        }
        if days > Self::DAYS_MAX {
            return Err(LullError::TooLong { first, last, days });
        }
        Ok(Self { first, last, share })
    }

    /// The first day.
    pub fn first(&self) -> NaiveDate {
        self.first
    }

    /// The last day.
    pub fn last(&self) -> NaiveDate {
        self.last
    }

    /// The share of each day.
    pub fn share(&self) -> Share {
        self.share
    }

    /// Whether they have a day in common.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.first <= other.last && other.first <= self.last
    }
}

fn is_in_range(day: NaiveDate) -> bool {
    let from = NaiveDate::default(); // 1 January 1970
    let until = NaiveDate::from_ymd_opt(9999, 12, 31).unwrap_or(NaiveDate::MAX);
    (from..=until).contains(&day)
}

/// The share of each of `days` days beginning with `from`, 0 to 5: that of the lull it lies in,
/// else 1. Of several lulls on one day the last of the list counts; a site has no such days.
pub fn shares(lulls: &[Lull], from: NaiveDate, days: u32) -> Vec<f64> {
    let mut shares = vec![Share::USUAL.get(); days as usize];
    for lull in lulls {
        let ahead = (lull.first - from).num_days();
        let skipped = usize::try_from(ahead).unwrap_or(0);
        let past = (lull.last - from).num_days() + 1;
        let end = usize::try_from(past).unwrap_or(0).min(shares.len());
        if let Some(within) = shares.get_mut(skipped..end) {
            within.fill(lull.share.get());
        }
    }
    shares
}
