//! The age of the O-ring in a torch: months and cap removals since it was fitted, against limits that the
//! shop sets. What a worn O-ring leads to is asked in [`torch_wear`](crate::torch_wear).

use chrono::{Months, NaiveDate};

/// Months after which an O-ring is worth a look unless the shop says otherwise. Invented: a starting
/// assumption.
pub const MONTHS_ASSUMED: u32 = 12;
/// Cap removals after which it is worth a look unless the shop says otherwise. Invented: a starting
/// assumption.
pub const REMOVALS_ASSUMED: u64 = 200;

/// When an O-ring is worth a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Months since it was fitted.
    pub months: u32,
    /// Cap removals since.
    pub removals: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            months: MONTHS_ASSUMED,
            removals: REMOVALS_ASSUMED,
        }
    }
}

/// The removals of a back cap that a record tells of. Looking without changing anything is not among
/// them, so the true number is at least this.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Removals {
    /// Grinds: the electrode comes out through the cap, is ground and goes in again.
    pub grinds: u64,
    /// Electrodes changed.
    pub electrodes: u64,
    /// Times that a cap, an electrode or a collet was fitted anew.
    pub refits: u64,
}

impl Removals {
    /// All of them.
    pub fn sum(&self) -> u64 {
        self.grinds
            .saturating_add(self.electrodes)
            .saturating_add(self.refits)
    }
}

/// How old an O-ring is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clock {
    /// Whole months since it was fitted.
    pub months: u32,
    /// Known cap removals since.
    pub removals: Removals,
}

/// What makes an O-ring worth a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Due {
    /// Its months.
    Months,
    /// Its cap removals.
    Removals,
    /// Both.
    Both,
}

impl Clock {
    /// The age on a day of an O-ring that was fitted on another; no months if that is still to come.
    ///
    /// ```
    /// use chrono::NaiveDate;
    /// use tigstock_domain::o_ring::{Clock, Due, Limits, Removals};
    /// let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
    /// let clock = Clock::new(day(2025, 5, 31), day(2026, 5, 31), Removals::default());
    /// assert_eq!(clock.months, 12);
    /// assert_eq!(clock.due(Limits::default()), Some(Due::Months));
    /// ```
    pub fn new(fitted: NaiveDate, today: NaiveDate, removals: Removals) -> Self {
        let mut months = 0_u32;
        // A ring lasts years, not centuries; the loop ends where the calendar does.
        while fitted
            .checked_add_months(Months::new(months + 1))
            .is_some_and(|day| day <= today)
        {
            months += 1;
        }
        Self { months, removals }
    }

    /// What makes it worth a look, if anything: whichever limit is reached.
    pub fn due(&self, limits: Limits) -> Option<Due> {
        let by_age = self.months >= limits.months;
        let by_removals = self.removals.sum() >= limits.removals;
        match (by_age, by_removals) {
            (true, true) => Some(Due::Both),
            (true, false) => Some(Due::Months),
            (false, true) => Some(Due::Removals),
            (false, false) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).expect("a day")
    }

    fn clock(fitted: NaiveDate, today: NaiveDate, grinds: u64) -> Clock {
        let removals = Removals {
            grinds,
            electrodes: 10,
            refits: 2,
        };
        Clock::new(fitted, today, removals)
    }

    #[test]
    fn months_are_whole_and_end_with_short_months() {
        let months = |fitted, today| clock(fitted, today, 0).months;
        assert_eq!(months(day(2026, 6, 2), day(2026, 7, 1)), 0);
        assert_eq!(months(day(2026, 6, 2), day(2026, 7, 2)), 1);
        assert_eq!(months(day(2026, 1, 31), day(2026, 2, 28)), 1);
        assert_eq!(months(day(2026, 7, 1), day(2026, 6, 1)), 0);
    }

    #[test]
    fn the_reminder_fires_on_either() {
        let limits = Limits::default();
        let (young, old) = (day(2026, 5, 1), day(2025, 5, 1));
        let today = day(2026, 6, 1);
        assert_eq!(clock(young, today, 187).due(limits), None);
        assert_eq!(clock(young, today, 188).due(limits), Some(Due::Removals));
        assert_eq!(clock(old, today, 0).due(limits), Some(Due::Months));
        assert_eq!(clock(old, today, 188).due(limits), Some(Due::Both));
    }
}
