//! What spreadsheets do to inch fractions: 3/32 typed into a cell becomes March 1932 or 2032.
//! This file recognises the damage; it never repairs it by guessing.

use chrono::{Datelike, Days, NaiveDate};

const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];

/// The fractions that name a diameter, as numerator and denominator.
const FRACTIONS: [(u32, u32, &str); 7] = [
    (1, 16, "1/16"),
    (5, 64, "5/64"),
    (3, 32, "3/32"),
    (1, 8, "1/8"),
    (5, 32, "5/32"),
    (3, 16, "3/16"),
    (1, 4, "1/4"),
];

/// What a text in place of a size may have come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Origin {
    /// Not a date.
    NoDate,
    /// A date that no named fraction explains.
    SomeDate,
    /// A date that this named fraction turns into.
    Fraction(&'static str),
}

/// What a text may have come from.
pub(super) fn origin(text: &str) -> Origin {
    let Some(candidates) = candidates(text) else {
        return Origin::NoDate;
    };
    let name_of = |(over, under): (u32, u32)| {
        FRACTIONS
            .iter()
            .find(|(o, u, _)| (*o, *u) == (over, under))
            .map(|(_, _, name)| *name)
    };
    candidates
        .into_iter()
        .find_map(name_of)
        .map_or(Origin::SomeDate, Origin::Fraction)
}

/// The fractions that may have been typed, if the text has the shape of a date.
fn candidates(text: &str) -> Option<Vec<(u32, u32)>> {
    let lower = text.trim().to_ascii_lowercase();
    let lower = without_time(&lower);
    if let Some(date) = serial_date(lower) {
        return Some(of_date(date));
    }
    let pieces: Vec<&str> = lower
        .split(['-', '/', ' ', '.'])
        .filter(|p| !p.is_empty())
        .collect();
    match pieces.as_slice() {
        [day, month] if month_number(month).is_some() => {
            let (day, month) = (day.parse().ok()?, month_number(month)?);
            Some(vec![(month, day), (day, month)])
        }
        [month, number] if month_number(month).is_some() => {
            let (month, number) = (month_number(month)?, number.parse::<u32>().ok()?);
            Some(vec![(month, number % 100), (number, month)])
        }
        [first, second, third] => {
            let mut all: Vec<_> = full_dates(first, second, third).flat_map(of_date).collect();
            all.extend(with_year_behind(first, second, third));
            (!all.is_empty()).then_some(all)
        }
        _ => None,
    }
}

/// The text without the midnight that a cell of the type date carries: `2032-03-01T00:00:00Z`.
fn without_time(text: &str) -> &str {
    const MIDNIGHTS: [&str; 6] = [
        "t00:00:00",
        " 00:00:00",
        " 0:00:00",
        "t00:00",
        " 00:00",
        " 0:00",
    ];
    let local = text.strip_suffix('z').unwrap_or(text);
    let whole = local.trim_end_matches('0').strip_suffix('.');
    let seconds = whole.filter(|it| it.contains(':')).unwrap_or(local);
    MIDNIGHTS
        .iter()
        .find_map(|midnight| seconds.strip_suffix(midnight))
        .unwrap_or(text)
}

/// A fraction with a year behind it that makes no day of any calendar: `3/32/2026`.
fn with_year_behind(over: &str, under: &str, year: &str) -> Option<(u32, u32)> {
    let is_year = year.len() == 4 && year.bytes().all(|b| b.is_ascii_digit());
    let (over, under) = (over.parse().ok()?, under.parse().ok()?);
    is_year.then_some((over, under)).filter(|(over, under)| {
        FRACTIONS
            .iter()
            .any(|(o, u, _)| (*o, *u) == (*over, *under))
    })
}

/// A date was month/day, day/month, or, on the first of a month, month/year.
fn of_date(date: NaiveDate) -> Vec<(u32, u32)> {
    let mut all = Vec::with_capacity(3);
    if date.day() == 1 {
        all.push((date.month(), date.year().rem_euclid(100).unsigned_abs()));
    }
    all.extend([(date.month(), date.day()), (date.day(), date.month())]);
    all
}

fn month_number(text: &str) -> Option<u32> {
    let start = text
        .get(..3)
        .filter(|_| text.bytes().all(|b| b.is_ascii_alphabetic()))?;
    let index = MONTHS.iter().position(|month| *month == start)?;
    u32::try_from(index + 1).ok()
}

/// The days that three figures may mean: year first, or year last with day and month in either
/// order.
fn full_dates(first: &str, second: &str, third: &str) -> impl Iterator<Item = NaiveDate> {
    let number = |text: &str| text.parse::<u32>().ok().or_else(|| month_number(text));
    let year_first = first.len() == 4;
    let (year, a, b) = if year_first {
        (first, second, third)
    } else {
        (third, first, second)
    };
    let year = year
        .parse::<i32>()
        .ok()
        .map(|y| if (0..100).contains(&y) { y + 2000 } else { y });
    let date = |month: Option<u32>, day: Option<u32>| NaiveDate::from_ymd_opt(year?, month?, day?);
    let (a, b) = (number(a), number(b));
    let day_first = if year_first { None } else { date(b, a) };
    date(a, b).into_iter().chain(day_first)
}

/// A spreadsheet's day number: days since 30 December 1899, here for the years 1925 to 2100. Some
/// programs write it with decimals, which are nought for a whole day.
fn serial_date(text: &str) -> Option<NaiveDate> {
    let whole = text.split_once('.').filter(|(_, decimals)| {
        !decimals.is_empty() && decimals.bytes().all(|digit| digit == b'0')
    });
    let number = whole
        .map_or(text, |(days, _)| days)
        .parse::<u64>()
        .ok()
        .filter(|number| (9_133..=73_415).contains(number))?;
    NaiveDate::from_ymd_opt(1899, 12, 30)?.checked_add_days(Days::new(number))
}
