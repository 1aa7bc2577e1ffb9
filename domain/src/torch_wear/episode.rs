//! From weekly readings to an alarm: when it is raised, and when it is over. What it is told as, and to
//! whom, is not here.

use super::scan::Reading;

/// So many readings in a row below the limit end an alarm. Common practice in control charts is to ask
/// for several; the number is invented, and the limit is fitted with it.
pub const CHECKS_TO_CLOSE: u32 = 4;

/// What the readings of one torch and one part have come to, check by check.
///
/// An alarm is raised by two readings in a row over the limit, or by one with ten pieces or more in its
/// window. It stands until [`CHECKS_TO_CLOSE`] readings in a row are below.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Episode {
    /// The day of the check that raised the alarm, while it stands.
    raised_on: Option<i64>,
    /// Readings over the limit in a row, to the last.
    over: u32,
    /// Readings below the limit in a row, to the last.
    below: u32,
}

impl Episode {
    /// The next weekly check, on day `day`. Gives whether it raised an alarm.
    pub fn check(&mut self, day: i64, reading: &Reading) -> bool {
        if !reading.is_over() {
            self.over = 0;
            self.below = self.below.saturating_add(1);
            if self.below >= CHECKS_TO_CLOSE {
                self.raised_on = None;
            }
            return false;
        }
        self.over = self.over.saturating_add(1);
        self.below = 0;
        let raises = self.raised_on.is_none() && (self.over >= 2 || reading.is_large());
        if raises {
            self.raised_on = Some(day);
        }
        raises
    }

    /// The day of the check that raised the alarm which stands; none while there is none.
    pub fn raised_on(&self) -> Option<i64> {
        self.raised_on
    }

    /// Readings in a row over the limit, to the last.
    pub fn readings_over(&self) -> u32 {
        self.over
    }
}
