//! The forecasts of 10 000 parts: what is known after the shop's own use, how many to keep, when the
//! order point is reached and when it runs out. The baseline does the same work the plain way, with
//! the probabilities of the `statrs` crate: it adds them up one by one until the target is reached,
//! and goes through the days one by one until the chance of having run out is. The ratio says what
//! the closed forms and searches of the domain are worth against the formula as it is in the book;
//! it is the time of the baseline over that of the domain, for the same parts in the same order. The
//! two must agree on every need and on every date.

use std::time::Instant;

use chrono::{Days, NaiveDate};
use domain::forecast::{HORIZON_DAYS, RunOut, Target, need, reorder_point, run_out};
use domain::wear::Gamma;
use statrs::distribution::{Discrete, NegativeBinomial as Other};

use crate::{ROUNDS, explain, median};

/// How many parts.
const PARTS: u32 = 10_000;
/// How many of them the plain way is measured on; its time is taken per part.
const SAMPLE: u32 = 500;

/// A part: what is assumed of it, what was used, what is to come and what is there. Invented.
#[derive(Clone, Copy, Debug)]
struct Part {
    shape: f64,
    rate: f64,
    used: u64,
    over: f64,
    to_come: f64,
    on_hand: i64,
    pace: f64,
}

/// What a forecast says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Forecast {
    need: u64,
    order_point: u64,
    run_out: RunOut,
}

/// Weeks of cover, as hours of the weekly pace.
const COVER_DAYS: f64 = 14.0;
const TARGET: f64 = 0.95;

/// The ratio.
pub(crate) fn ratio() -> Result<f64, String> {
    let start = NaiveDate::from_ymd_opt(2026, 6, 15).ok_or("no such day")?;
    let target = Target::new(TARGET).map_err(|error| error.to_string())?;
    let (mut plain, mut ours) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let begin = Instant::now();
        let expected: Vec<Forecast> = parts(SAMPLE)
            .map(|part| by_the_book(part, start))
            .collect::<Result<_, _>>()?;
        plain.push(begin.elapsed().as_secs_f64() / f64::from(SAMPLE));
        let begin = Instant::now();
        let found: Vec<Forecast> = parts(PARTS)
            .map(|part| forecast(part, target, start))
            .collect::<Result<_, _>>()?;
        ours.push(begin.elapsed().as_secs_f64() / f64::from(PARTS));
        agree(&expected, &found)?;
    }
    let (plain, ours) = (median(plain), median(ours));
    explain(&format!(
        "forecasts: plain {:.1} us a part, ours {:.1} us a part",
        plain * 1e6,
        ours * 1e6
    ))?;
    Ok(plain / ours)
}

fn agree(expected: &[Forecast], found: &[Forecast]) -> Result<(), String> {
    let differs = expected
        .iter()
        .zip(found)
        .find(|(expected, found)| expected != found);
    differs.map_or(Ok(()), |(expected, found)| {
        Err(format!(
            "the plain way finds {expected:?}, the domain {found:?}"
        ))
    })
}

/// The parts of a shop and of a far larger one: shapes, rates and stocks in fixed steps, coprime so
/// that few repeat.
fn parts(count: u32) -> impl Iterator<Item = Part> {
    (0..count).map(|index| Part {
        shape: [0.5, 1.0, 2.0][(index % 3) as usize],
        rate: [20.0, 30.0, 50.0, 100.0][(index % 4) as usize],
        used: u64::from(index % 61),
        over: 410.0 + f64::from(index % 97),
        to_come: 8.0 + f64::from(index % 37),
        on_hand: i64::from(1 + index % 11),
        pace: (3.0 + f64::from(index % 7)) / 7.0,
    })
}

fn forecast(part: Part, target: Target, start: NaiveDate) -> Result<Forecast, String> {
    let wear = Gamma::new(part.shape, part.rate).map_err(|error| error.to_string())?;
    let wear = wear
        .posterior(part.used, part.over)
        .map_err(|error| error.to_string())?;
    let uses = |exposure| wear.predictive(exposure).map_err(|error| error.to_string());
    Ok(Forecast {
        need: need(&uses(part.to_come)?, target),
        order_point: reorder_point(&uses(part.pace * COVER_DAYS)?, target),
        run_out: run_out(&wear, part.on_hand, part.pace, start),
    })
}

fn by_the_book(part: Part, start: NaiveDate) -> Result<Forecast, String> {
    let used = u32::try_from(part.used).map_err(|error| error.to_string())?;
    let (shape, rate) = (part.shape + f64::from(used), part.rate + part.over);
    let on_hand = u64::try_from(part.on_hand).map_err(|error| error.to_string())?;
    let date = |chance| date(uses_of(shape, rate, part.pace), on_hand, chance, start);
    Ok(Forecast {
        need: smallest(&uses_of(shape, rate, part.to_come)(1.0)?),
        order_point: smallest(&uses_of(shape, rate, part.pace)(COVER_DAYS)?),
        run_out: RunOut {
            early: date(0.05)?,
            median: date(0.5)?,
            late: date(0.95)?,
        },
    })
}

/// The use over so many times an exposure.
fn uses_of(shape: f64, rate: f64, exposure: f64) -> impl Fn(f64) -> Result<Other, String> {
    move |times| {
        let other = Other::new(shape, rate / (rate + exposure * times));
        other.map_err(|error| error.to_string())
    }
}

/// The smallest count whose probabilities add up to the target.
fn smallest(uses: &Other) -> u64 {
    let (mut count, mut sum) = (0, uses.pmf(0));
    while sum < TARGET {
        count += 1;
        sum += uses.pmf(count);
    }
    count
}

/// The first day by whose end all on hand is used with that chance.
fn date(
    uses: impl Fn(f64) -> Result<Other, String>,
    on_hand: u64,
    chance: f64,
    start: NaiveDate,
) -> Result<Option<NaiveDate>, String> {
    for day in 0..HORIZON_DAYS {
        let uses = uses(f64::from(day + 1))?;
        let lasts: f64 = (0..on_hand).map(|count| uses.pmf(count)).sum();
        // Reached at midnight to the last digit is reached on the day that begins.
        if 1.0 - lasts > chance + 1e-12 {
            return Ok(start.checked_add_days(Days::new(u64::from(day))));
        }
    }
    Ok(None)
}
