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

/// Where so many grinds were to be expected of a day and none were told, nobody told them: none at all has
/// a chance of 1 in 20 at 3 (Poisson).
const UNTOLD: f64 = 3.0;

/// Puts grinds on days of work on which they were not told: a reading of a clock, or the hours of a whole job,
/// is arc time alone, and would pass for work without grinding. Where a group that grinds did so much on a day
/// that none is hardly possible, the day gets as many as the group's days with grinds would make it. `main`
/// is arc time.
///
/// ```
/// use tigstock_domain::review::{Day, fill_grinds};
/// let day = |main, grinds| Day { main, grinds, ..Day::default() };
/// let mut days = [day(4.0, 8), day(10.0, 0), day(1.0, 0)];
/// fill_grinds(&mut days); // 2 an hour: 20 were not told, but none in an hour may be right
/// assert_eq!(days.map(|day| day.grinds), [8, 20, 0]);
/// ```
pub fn fill_grinds(days: &mut [Day]) {
    let told = days.iter().filter(|day| day.grinds > 0 && day.main > 0.0);
    let (hours, grinds) = told.fold((0.0, 0_u64), |(hours, grinds), day| {
        (hours + day.main, grinds.saturating_add(day.grinds))
    });
    if grinds == 0 {
        return;
    }
    let pace = real(grinds) / hours;
    for day in days.iter_mut().filter(|day| day.grinds == 0) {
        let expected = pace * day.main;
        if expected >= UNTOLD {
            day.grinds = crate::special::count_at_or_below(expected.round());
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
    fn grinds_that_were_not_told_follow_from_the_days_on_which_they_were() {
        let day = |main, grinds| Day {
            main,
            grinds,
            ..Day::default()
        };
        let filled = |days: &[Day]| -> Vec<u64> {
            let mut days = days.to_vec();
            fill_grinds(&mut days);
            days.iter().map(|day| day.grinds).collect()
        };
        // 9 grinds in 6 hours: 1.5 an hour. 34 hours make 51, 2 hours just 3, 1.9 hours fewer.
        let told = [day(2.0, 4), day(4.0, 5), day(0.0, 7)];
        let days = [&told[..], &[day(34.0, 0), day(2.0, 0), day(1.9, 0)]].concat();
        assert_eq!(filled(&days), [4, 5, 7, 51, 3, 0]);
        // Who never grinds does not grind.
        assert_eq!(filled(&[day(34.0, 0), day(8.0, 0)]), [0, 0]);
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
