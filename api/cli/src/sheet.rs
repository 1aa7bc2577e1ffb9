//! A sheet: rows under named columns, which `output` prints as a table for people or as CSV for a
//! spreadsheet. How numbers, money, chances and days are written for people is here too.

use std::borrow::Cow;

use chrono::NaiveDateTime;
use domain::quantity::{Currency, Money};

/// A column: its name in CSV, which never changes, and its heading for people.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    pub name: Cow<'static, str>,
    /// `None` for a column that is only in CSV.
    pub heading: Option<String>,
}

/// What stands in one place of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Cell {
    /// Text; CSV escapes it so that a spreadsheet never runs it.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number, and the way people read it.
    Real { value: f64, shown: String },
    /// A value that CSV and people read in different words.
    Shown { value: String, shown: String },
    /// Nothing.
    Nothing,
}

/// Rows under named columns.
#[derive(Clone, Debug)]
pub(crate) struct Sheet {
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<Cell>>,
}

impl Sheet {
    /// A sheet with these columns, each a name and a heading; an empty heading keeps the column out
    /// of the table.
    pub(crate) fn new<const N: usize>(columns: [(&'static str, &str); N]) -> Self {
        let columns = columns.into_iter().map(|(name, heading)| {
            let heading = Some(heading.to_owned()).filter(|heading| !heading.is_empty());
            Column {
                name: name.into(),
                heading,
            }
        });
        Self {
            columns: columns.collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub(crate) fn push<const N: usize>(&mut self, row: [Cell; N]) {
        debug_assert_eq!(N, self.columns.len(), "a cell for each column");
        self.rows.push(row.into());
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<&String> for Cell {
    fn from(text: &String) -> Self {
        Self::Text(text.clone())
    }
}

impl From<&Option<String>> for Cell {
    fn from(text: &Option<String>) -> Self {
        text.as_ref().map_or(Self::Nothing, Self::from)
    }
}

impl From<i64> for Cell {
    fn from(number: i64) -> Self {
        Self::Whole(number)
    }
}

impl From<Option<i64>> for Cell {
    fn from(number: Option<i64>) -> Self {
        number.map_or(Self::Nothing, Self::Whole)
    }
}

impl Cell {
    /// A mean number of parts.
    pub(crate) fn mean(value: f64) -> Self {
        Self::Real {
            value,
            shown: mean(value),
        }
    }

    /// A chance or a share.
    pub(crate) fn chance(value: f64) -> Self {
        Self::Real {
            value,
            shown: percent(value),
        }
    }

    /// An amount of money; CSV has its minor units.
    pub(crate) fn money(minor: i64, currency: &str) -> Self {
        Self::Shown {
            value: minor.to_string(),
            shown: money(minor, currency),
        }
    }
}

/// A mean number of parts with two figures, as it is read aloud: 4.7, 0.55.
pub(crate) fn mean(value: f64) -> String {
    if value >= 9.95 {
        format!("{value:.0}")
    } else if value >= 0.995 {
        format!("{value:.1}")
    } else {
        format!("{value:.2}")
    }
}

/// A chance in whole percent. Rounding never makes it certain or impossible.
pub(crate) fn percent(chance: f64) -> String {
    if chance > 0.995 && chance < 1.0 {
        "over 99 %".to_owned()
    } else if chance < 0.005 && chance > 0.0 {
        "under 1 %".to_owned()
    } else {
        format!("{:.0} %", chance * 100.0)
    }
}

/// A target in percent, with what it has after the point: 95 %, 99.5 %.
pub(crate) fn target(target: f64) -> String {
    let percent = format!("{:.2}", target * 100.0);
    format!("{} %", percent.trim_end_matches('0').trim_end_matches('.'))
}

/// An amount of money with its currency: 54.50 CAD.
pub(crate) fn money(minor: i64, currency: &str) -> String {
    let known = Currency::parse(currency).ok();
    known
        .and_then(|currency| Money::new(minor, currency).ok())
        .map_or_else(
            // A currency that only a newer service knows.
            || format!("{minor} minor units of {currency}"),
            |money| money.to_string(),
        )
}

/// A day and a time of day: Wed 24 Jun 2026, 12:00.
pub(crate) fn local_time(time: NaiveDateTime) -> String {
    time.format("%a %-d %b %Y, %H:%M").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chance_is_never_rounded_to_certainty() {
        let shown = [
            (0.2705, "27 %"),
            (0.972, "97 %"),
            (0.9999, "over 99 %"),
            (0.0001, "under 1 %"),
        ];
        for (chance, words) in shown {
            assert_eq!(percent(chance), words);
        }
        assert_eq!(percent(1.0), "100 %");
        assert_eq!(percent(0.0), "0 %");
    }

    // The expected uses of scenario S5.
    #[test]
    fn a_mean_has_two_figures() {
        for (value, shown) in [
            (4.744, "4.7"),
            (0.554, "0.55"),
            (1.545, "1.5"),
            (0.2587, "0.26"),
        ] {
            assert_eq!(mean(value), shown);
        }
        assert_eq!(mean(20.25), "20");
    }

    #[test]
    fn a_target_keeps_what_it_has_after_the_point() {
        assert_eq!(target(0.95), "95 %");
        assert_eq!(target(0.995), "99.5 %");
        assert_eq!(target(0.9999), "99.99 %");
    }

    #[test]
    fn money_has_the_digits_of_its_currency() {
        assert_eq!(money(5450, "CAD"), "54.50 CAD");
        assert_eq!(money(5450, "JPY"), "5450 JPY");
        assert_eq!(money(5450, "???"), "5450 minor units of ???");
    }
}
