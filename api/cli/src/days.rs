//! A span of days on the command line: from its first day to its last.

use chrono::NaiveDate;

/// Days from the first to the last, both included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Span {
    /// The first.
    pub(crate) first: NaiveDate,
    /// The last.
    pub(crate) last: NaiveDate,
}

/// Reads `2026-07-01..2026-07-14`, or one day alone.
pub(crate) fn span(text: &str) -> Result<Span, String> {
    let (first, last) = text.split_once("..").unwrap_or((text, text));
    let day = |text: &str| {
        text.parse::<NaiveDate>().map_err(|_| {
            format!("\"{text}\" is no day; write the days as 2026-07-01..2026-07-14, or one as 2026-07-01")
        })
    };
    let (first, last) = (day(first)?, day(last)?);
    if last < first {
        return Err(format!(
            "{last} is before {first}; write the first day first"
        ));
    }
    Ok(Span { first, last })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_written_with_two_full_stops_between_them() {
        let day = |text: &str| text.parse::<NaiveDate>().expect("a day");
        let (first, last) = (day("2026-12-24"), day("2027-01-03"));
        assert_eq!(span("2026-12-24..2027-01-03"), Ok(Span { first, last }));
        assert_eq!(span("2026-12-24"), Ok(Span { first, last: first }));
        for (text, words) in [
            ("2027-01-03..2026-12-24", "first day first"),
            ("24.12.2026", "is no day"),
            ("2026-12-24..", "is no day"),
        ] {
            let why = span(text).expect_err(text);
            assert!(why.contains(words), "{text}: {why}");
        }
    }
}
