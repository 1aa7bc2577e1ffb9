//! What a cell means: whole numbers as people write them, arc time, and times of a shop's clock. What is
//! guessed is noted; what cannot be understood is refused with what to write instead.

use chrono::{DateTime, FixedOffset, MappedLocalTime, NaiveDate, NaiveDateTime, NaiveTime};

use crate::env::Zone;
use crate::grammar::arc_minutes;

/// What people add to a number of pieces.
const PIECES: [&str; 4] = ["pcs", "pc", "pieces", "piece"];
const CLOCKS: [&str; 4] = [
    "%Y-%m-%d %H:%M",
    "%Y-%m-%d %H:%M:%S",
    "%Y-%m-%dT%H:%M",
    "%Y-%m-%dT%H:%M:%S",
];

/// What holds for rows that do not say.
#[derive(Clone, Debug)]
pub(crate) struct Otherwise {
    /// When, RFC 3339.
    pub(crate) at: Option<String>,
    /// By whom.
    pub(crate) by: Option<String>,
    /// Where.
    pub(crate) site: Option<String>,
    /// The zone of times without an offset.
    pub(crate) zone: Zone,
}

/// A value, with a note if something was guessed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Read<T> {
    /// The value.
    pub(crate) value: T,
    /// What was guessed.
    pub(crate) note: Option<String>,
}

fn sure<T>(value: T) -> Read<T> {
    Read { value, note: None }
}

/// A whole number: `10`, or `10 pcs`, which is noted.
pub(crate) fn whole(column: &str, text: &str) -> Result<Read<i64>, String> {
    if let Ok(number) = text.parse() {
        return Ok(sure(number));
    }
    let refuse = || {
        if text.contains([',', '.']) {
            format!("{column}: \"{text}\" is not a whole number; there are no parts of a piece")
        } else {
            format!("{column}: \"{text}\" is not a number; write it in digits, such as 10")
        }
    };
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    let (figure, word) = text.split_at(end);
    let is_pieces = PIECES
        .iter()
        .any(|it| it.eq_ignore_ascii_case(word.trim().trim_end_matches('.')));
    match figure.parse() {
        Ok(value) if is_pieces => Ok(Read {
            value,
            note: Some(format!("{column}: \"{text}\" was taken as {value}")),
        }),
        _ => Err(refuse()),
    }
}

/// Arc time in minutes, with its unit. A comma is a decimal mark only in a file that parts its values
/// by semicolons.
pub(crate) fn arc(text: &str, has_decimal_commas: bool) -> Result<i64, String> {
    let figure = if has_decimal_commas {
        text.replace(',', ".")
    } else {
        text.to_owned()
    };
    arc_minutes(&figure).map_err(|error| format!("arc: {error}"))
}

/// An instant: RFC 3339 as it is, or a day and a time of the shop's clock, which is noted. A time that
/// the clock showed twice is the first of the two. A day alone is its noon.
pub(crate) fn instant(
    column: &str,
    text: &str,
    zone: Zone,
) -> Result<Read<DateTime<FixedOffset>>, String> {
    if let Ok(at) = DateTime::parse_from_rfc3339(text) {
        return Ok(sure(at));
    }
    let clock = CLOCKS
        .iter()
        .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok());
    let day = || NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
    let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
    let (local, guessed) = match (clock, day()) {
        (Some(local), _) => (local, "the time is that of this computer's clock"),
        (None, Some(day)) => (day.and_time(noon), "no time of day, so noon was taken"),
        (None, None) => {
            return Err(format!(
                "{column}: \"{text}\" is not a time; write 2026-07-06 18:00, or with an offset \
                 2026-07-06T18:00:00-03:00"
            ));
        }
    };
    let noted = |value: DateTime<FixedOffset>, more: &str| Read {
        value,
        note: Some(format!("{column}: {guessed}{more}")),
    };
    match zone.instants(local) {
        MappedLocalTime::Single(at) => Ok(noted(at, "")),
        MappedLocalTime::Ambiguous(first, _) => Ok(noted(
            first,
            "; it was shown twice that night, the first was taken",
        )),
        MappedLocalTime::None => Err(format!(
            "{column}: the clock did not show {text} (it was put forward); write another time"
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_may_be_called_so_and_nothing_else() {
        assert_eq!(whole("counted", "10"), Ok(sure(10)));
        assert_eq!(whole("counted", "-1"), Ok(sure(-1)));
        for text in ["10 pcs", "10pcs", "10 pieces", "10 PC."] {
            let read = whole("counted", text).expect(text);
            assert_eq!(read.value, 10);
            assert!(read.note.is_some_and(|note| note.contains(text)), "{text}");
        }
        for (text, words) in [
            ("ten", "\"ten\" is not a number"),
            ("2,4", "\"2,4\" is not a whole number"),
            ("2.0", "not a whole number"),
            ("10 packs", "write it in digits"),
            ("pcs", "not a number"),
            ("99999999999999999999", "not a number"),
        ] {
            let why = whole("counted", text).expect_err(text);
            assert!(why.starts_with("counted: ") && why.contains(words), "{why}");
        }
    }

    #[test]
    fn arc_time_has_its_unit_and_a_comma_where_the_file_has_them() {
        assert_eq!(arc("75m", false), Ok(75));
        assert_eq!(arc("1h20", false), Ok(80));
        assert_eq!(arc("1,5h", true), Ok(90));
        for text in ["1,5h", "75", "soon"] {
            assert!(
                arc(text, false).expect_err(text).starts_with("arc: "),
                "{text}"
            );
        }
    }

    #[test]
    fn a_time_without_an_offset_is_that_of_the_clock_on_the_wall() {
        let zone = Zone::Fixed(FixedOffset::west_opt(3 * 3600).expect("an offset"));
        let read = |text| instant("when", text, zone);
        let exact = read("2026-07-06T18:00:00-03:00").expect("an instant");
        assert_eq!(exact.note, None);
        for text in [
            "2026-07-06 18:00",
            "2026-07-06T18:00:00",
            "2026-07-06 18:00:00",
        ] {
            let told = read(text).expect(text);
            assert_eq!(told.value, exact.value);
            assert!(
                told.note.is_some_and(|note| note.starts_with("when: ")),
                "{text}"
            );
        }
        let noon = read("2026-07-06").expect("a day");
        assert_eq!(noon.value.to_rfc3339(), "2026-07-06T12:00:00-03:00");
        assert!(noon.note.is_some_and(|note| note.contains("noon")));
        for text in ["6 July", "06/07/2026", "46209", "2026-13-01"] {
            assert!(read(text).expect_err(text).contains(text), "{text}");
        }
    }
}
