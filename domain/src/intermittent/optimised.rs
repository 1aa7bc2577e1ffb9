//! Croston's method with the two smoothing constants that would have forecast the record best. The method
//! itself is in the parent.

use super::{Smoothing, used};

/// Where the constants are looked for.
const LOWEST: f64 = 0.1;
const HIGHEST: f64 = 0.3;
/// How near the search comes to a constant.
const WIDTH: f64 = 1e-12;

/// A forecast and the constants that it was made with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Optimised {
    /// The use to expect in each period to come.
    pub forecast: f64,
    /// The smoothing constant of the sizes.
    pub size_alpha: f64,
    /// The smoothing constant of the intervals.
    pub interval_alpha: f64,
}

/// Croston's method with the constants, from 0.1 to 0.3 and apart for sizes and intervals, that make the
/// sum of squared one-step errors of each smoothed row least; none for a record without use.
///
/// Golden-section search (J. Kiefer, *Proceedings of the American Mathematical Society* 4, 1953) down to a
/// width of 1e-12; the constant is the middle of what is left. Where both inner points do equally well, as
/// in a row of equal values, the search stops at once. It goes through the record some sixty times.
pub fn croston_optimised(record: &[f64]) -> Option<Optimised> {
    let size_alpha = best(|| sizes(record))?;
    let interval_alpha = best(|| intervals(record))?;
    let size = last_level(sizes(record), size_alpha)?;
    let interval = last_level(intervals(record), interval_alpha)?;
    Some(Optimised {
        forecast: size / interval,
        size_alpha,
        interval_alpha,
    })
}

/// What was used, where there was use.
fn sizes(record: &[f64]) -> impl Iterator<Item = f64> {
    record.iter().filter_map(|figure| used(*figure))
}

/// How many periods each use was after the one before.
fn intervals(record: &[f64]) -> impl Iterator<Item = f64> {
    let mut gap = 0_u32;
    record.iter().filter_map(move |figure| {
        gap = gap.saturating_add(1);
        used(*figure).map(|_| f64::from(std::mem::take(&mut gap)))
    })
}

/// The constant with the least squared one-step errors; none for an empty row.
fn best<I: Iterator<Item = f64>>(row: impl Fn() -> I) -> Option<f64> {
    row().next()?;
    let cost = |alpha: f64| squared_errors(row(), alpha);
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut low, mut high) = (LOWEST, HIGHEST);
    let (mut left, mut right) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_left, mut at_right) = (cost(left), cost(right));
    while high - low > WIDTH {
        if at_left < at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - golden * (high - low);
            at_left = cost(left);
        } else if at_right < at_left {
            (low, left, at_left) = (left, right, at_right);
            right = low + golden * (high - low);
            at_right = cost(right);
        } else {
            break;
        }
    }
    Some(low + (high - low) / 2.0)
}

/// The sum of squared errors of a smoothed row, from its second value on.
fn squared_errors(mut row: impl Iterator<Item = f64>, alpha: f64) -> f64 {
    let Some(mut level) = row.next() else {
        return 0.0;
    };
    let alpha = Smoothing(alpha);
    row.fold(0.0, |sum, value| {
        let error = value - level;
        level = alpha.follow(level, value);
        sum + error * error
    })
}

fn last_level(mut row: impl Iterator<Item = f64>, alpha: f64) -> Option<f64> {
    let first = row.next()?;
    let alpha = Smoothing(alpha);
    Some(row.fold(first, |level, value| alpha.follow(level, value)))
}
