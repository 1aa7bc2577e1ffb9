//! The days of one part in one group, as a review takes them in: use on days of work, and what a usual
//! weekday is. Where the days come from is the caller's business.

use chrono::{Datelike, NaiveDate};

use crate::special::real;

/// One day of one part in one group.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Day {
    /// Exposure to the main driver, from 0.
    pub main: f64,
    /// Grinds.
    pub grinds: u64,
    /// Pieces used.
    pub used: u64,
}

impl Day {
    fn is_exposed(&self) -> bool {
        self.main > 0.0 || self.grinds > 0
    }
}

/// Puts what was used on days on which the part was exposed, since nothing wears without work: where it
/// was taken on another day, on the last such day before, else on the first after. `net` is what was
/// taken less what was put back on each day; what was put back takes from what was used before it, and
/// never makes less than nothing. Without any day of work nothing is used.
///
/// ```
/// use tigstock_domain::review::{Day, share_out};
/// let worked = Day { main: 4.0, ..Day::default() };
/// let mut days = [worked, Day::default(), worked];
/// share_out(&mut days, &[1, 2, 0]); // two were taken on the day off
/// assert_eq!(days.map(|day| day.used), [3, 0, 0]);
/// ```
pub fn share_out(days: &mut [Day], net: &[i64]) {
    let mut open: i64 = 0;
    let mut last = None;
    for at in 0..days.len() {
        open += net.get(at).copied().unwrap_or(0);
        if days[at].is_exposed() {
            last = Some(at);
        }
        if let Some(last) = last {
            let had = i64::try_from(days[last].used).unwrap_or(i64::MAX);
            let now = had.saturating_add(open).max(0);
            open = had.saturating_add(open) - now;
            days[last].used = u64::try_from(now).unwrap_or(0);
        }
    }
}

/// The mean of the main driver on each weekday, Monday first, over the last `recent` days of a record that
/// begins on `first`; 0 for a weekday that is not among them.
pub fn weekday_means(days: &[Day], first: NaiveDate, recent: usize) -> [f64; 7] {
    let (mut sums, mut counts) = ([0.0; 7], [0_u64; 7]);
    let monday = first.weekday().num_days_from_monday() as usize;
    for (at, day) in days
        .iter()
        .enumerate()
        .skip(days.len().saturating_sub(recent))
    {
        let weekday = (monday + at) % 7;
        sums[weekday] += day.main;
        counts[weekday] += 1;
    }
    let mut means = [0.0; 7];
    for ((mean, sum), count) in means.iter_mut().zip(sums).zip(counts) {
        *mean = sum / real(count.max(1));
    }
    means
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days(main: &[f64]) -> Vec<Day> {
        let day = |main: &f64| Day {
            main: *main,
            ..Day::default()
        };
        main.iter().map(day).collect()
    }

    fn used(main: &[f64], net: &[i64]) -> Vec<u64> {
        let mut days = days(main);
        share_out(&mut days, net);
        days.iter().map(|day| day.used).collect()
    }

    #[test]
    fn use_is_put_on_the_last_day_of_work_before_it_else_on_the_first_after() {
        assert_eq!(used(&[1.0, 1.0], &[1, 2]), [1, 2]);
        assert_eq!(used(&[0.0, 0.0, 1.0, 0.0], &[2, 0, 1, 3]), [0, 0, 6, 0]);
        assert_eq!(used(&[0.0, 0.0], &[2, 3]), [0, 0]);
        assert_eq!(used(&[], &[]), [0_u64; 0]);
    }

    #[test]
    fn what_is_put_back_takes_from_what_was_used_and_never_makes_less_than_nothing() {
        assert_eq!(used(&[1.0, 0.0, 1.0], &[3, -1, 1]), [2, 0, 1]);
        // More came back than was used: the next use only makes up for it.
        assert_eq!(used(&[1.0, 1.0, 1.0], &[1, -2, 3]), [1, 0, 1]);
    }

    #[test]
    fn a_usual_weekday_is_the_mean_of_the_recent_ones() {
        let wednesday = NaiveDate::from_ymd_opt(2026, 6, 10).expect("a day");
        // Two weeks from a Wednesday on: 2 and 4 hours on Wednesdays, 1 and 1 on Mondays.
        let mut main = [0.0; 14];
        (main[0], main[7], main[5], main[12]) = (2.0, 4.0, 1.0, 1.0);
        let close = |found: [f64; 7], expected: [f64; 7]| {
            let pairs = found.into_iter().zip(expected);
            assert!(
                pairs.clone().all(|(a, b)| (a - b).abs() < 1e-12),
                "{found:?}"
            );
        };
        let both = weekday_means(&days(&main), wednesday, 14);
        close(both, [1.0, 0.0, 3.0, 0.0, 0.0, 0.0, 0.0]);
        let last = weekday_means(&days(&main), wednesday, 7);
        close(last, [1.0, 0.0, 4.0, 0.0, 0.0, 0.0, 0.0]);
        close(weekday_means(&[], wednesday, 7), [0.0; 7]);
    }
}
