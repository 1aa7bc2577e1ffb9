//! When what is available runs out, by the days of a calendar, whatever law use has.

use chrono::{Days, NaiveDate};
use types::RunOut;

use super::Error;

/// The first days, from `start` on, by which what is available is used up with a chance of 5, 50 and 95 %; none
/// for a day beyond `horizon` days. `short` tells the chance that more than so many pieces are used over so many
/// days.
///
/// # Errors
/// What `short` fails with.
pub fn dates(
    available: i64,
    (start, horizon): (NaiveDate, u32),
    short: impl Fn(u64, u32) -> Result<f64, Error>,
) -> Result<RunOut, Error> {
    let day = |chance| date(available, chance, (start, horizon), &short);
    Ok(RunOut {
        early: day(0.05)?,
        median: day(0.5)?,
        late: day(0.95)?,
    })
}

/// The first day, from `start` on, by which so many pieces are used up with that chance; the first of all if
/// there are none, none beyond `horizon` days.
///
/// # Errors
/// What `short` fails with.
pub fn date(
    pieces: i64,
    chance: f64,
    (start, horizon): (NaiveDate, u32),
    short: impl Fn(u64, u32) -> Result<f64, Error>,
) -> Result<Option<NaiveDate>, Error> {
    let pieces = u64::try_from(pieces).ok();
    let Some(last) = pieces.and_then(|pieces| pieces.checked_sub(1)) else {
        return Ok(Some(start));
    };
    let is_out = |days: u32| -> Result<bool, Error> { Ok(short(last, days)? >= chance) };
    if !is_out(horizon)? {
        return Ok(None);
    }
    let (mut before, mut by) = (0, horizon);
    while by - before > 1 {
        let middle = before + (by - before) / 2;
        if is_out(middle)? {
            by = middle;
        } else {
            before = middle;
        }
    }
    Ok(start.checked_add_days(Days::new(u64::from(by) - 1)))
}
