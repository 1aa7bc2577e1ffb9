//! How a welder writes what was done, in one line: `T1 75m 3g`. Tokens in any order, each with its
//! unit, so that 75 minutes can never be read as 75 grinds. A pure function of the words.

use domain::exposure::ArcTime;

/// What was done with a torch, as far as the words say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Done {
    /// Arc time in minutes.
    pub arc_minutes: Option<i64>,
    /// Grinds.
    pub grinds: Option<i64>,
    /// Cut-backs.
    pub cut_backs: Option<i64>,
    /// Starts.
    pub starts: Option<i64>,
}

/// Why the words cannot be understood; each says what to write instead.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(crate) enum Error {
    #[error("{0} what? write {0}m for arc minutes or {0}g for grinds")]
    NoUnit(String),
    #[error(
        "\"{0}\" is not understood; write 75m or 1h20 for arc time, 3g for grinds, 2c for \
         cut-backs, 40s for starts"
    )]
    Unknown(String),
    #[error("\"{0}\" is not a whole number of minutes; write 75m or 1h20")]
    PartOfMinute(String),
    #[error("\"{word}\" gives {what} a second time; write {what} once")]
    Twice { word: String, what: &'static str },
}

/// Understands the words after the torch.
pub(crate) fn understand<W: AsRef<str>>(words: &[W]) -> Result<Done, Error> {
    let mut done = Done::default();
    for word in words.iter().map(AsRef::as_ref) {
        let (what, amount) = token(word)?;
        let (place, what) = match what {
            What::ArcTime => (&mut done.arc_minutes, "arc time"),
            What::Grinds => (&mut done.grinds, "grinds"),
            What::CutBacks => (&mut done.cut_backs, "cut-backs"),
            What::Starts => (&mut done.starts, "starts"),
        };
        if place.replace(amount).is_some() {
            return Err(Error::Twice {
                word: word.to_owned(),
                what,
            });
        }
    }
    Ok(done)
}

/// Arc time in whole minutes: `75m`, `1h20`, `34h`.
pub(crate) fn arc_minutes(word: &str) -> Result<i64, Error> {
    if is_number(word) {
        return Err(Error::NoUnit(word.to_owned()));
    }
    let time = ArcTime::parse(word).map_err(|_| Error::Unknown(word.to_owned()))?;
    if time.seconds() % 60 != 0 {
        return Err(Error::PartOfMinute(word.to_owned()));
    }
    Ok(time.seconds() / 60)
}

#[derive(Clone, Copy)]
enum What {
    ArcTime,
    Grinds,
    CutBacks,
    Starts,
}

fn token(word: &str) -> Result<(What, i64), Error> {
    for (unit, what) in [
        ('g', What::Grinds),
        ('c', What::CutBacks),
        ('s', What::Starts),
    ] {
        let figure = word.strip_suffix([unit, unit.to_ascii_uppercase()]);
        if let Some(figure) = figure.filter(|figure| is_whole(figure)) {
            let amount = figure
                .parse()
                .map_err(|_| Error::Unknown(word.to_owned()))?;
            return Ok((what, amount));
        }
    }
    Ok((What::ArcTime, arc_minutes(word)?))
}

fn is_whole(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// A number as anybody might write it, without a unit.
fn is_number(text: &str) -> bool {
    text.bytes().any(|byte| byte.is_ascii_digit())
        && text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn one(word: &str) -> Result<Done, Error> {
        understand(&[word])
    }

    #[test]
    fn arc_time_is_read_in_minutes_and_hours() {
        let minutes = [
            ("75m", 75),
            ("1h20", 80),
            ("1h20m", 80),
            ("34h", 2040),
            ("1.5h", 90),
        ];
        for (word, minutes) in minutes {
            assert_eq!(one(word).expect(word).arc_minutes, Some(minutes), "{word}");
        }
    }

    #[test]
    fn grinds_cut_backs_and_starts_are_read() {
        assert_eq!(
            one("3g"),
            Ok(Done {
                grinds: Some(3),
                ..Done::default()
            })
        );
        assert_eq!(
            one("2C"),
            Ok(Done {
                cut_backs: Some(2),
                ..Done::default()
            })
        );
        assert_eq!(
            one("40s"),
            Ok(Done {
                starts: Some(40),
                ..Done::default()
            })
        );
    }

    #[test]
    fn a_bare_number_is_refused_and_told_both_ways_to_write_it() {
        let told = one("75").expect_err("it has no unit").to_string();
        assert_eq!(told, "75 what? write 75m for arc minutes or 75g for grinds");
        assert_eq!(one("1,5"), Err(Error::NoUnit("1,5".to_owned())));
    }

    #[test]
    fn a_word_that_means_nothing_is_refused() {
        for word in [
            "",
            "3x",
            "g",
            "-3g",
            "m",
            "3 g 2c",
            "99999999999999999999g",
            "drei",
        ] {
            assert_eq!(one(word), Err(Error::Unknown(word.to_owned())), "{word}");
        }
    }

    #[test]
    fn part_of_a_minute_is_refused() {
        assert_eq!(one("0.01h"), Err(Error::PartOfMinute("0.01h".to_owned())));
    }

    #[test]
    fn the_same_thing_twice_is_refused() {
        let twice = Error::Twice {
            word: "1h".to_owned(),
            what: "arc time",
        };
        assert_eq!(understand(&["75m", "3g", "1h"]), Err(twice));
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_in_any_order(
            minutes in 0_i64..100_000, grinds in 0_i64..10_000, cuts in 0_i64..10_000,
            starts in 0_i64..100_000, by_hours: bool, turn in 0_usize..4, swap: bool,
        ) {
            let arc = match (minutes / 60, minutes % 60) {
                (hours, rest) if by_hours => format!("{hours}h{rest:02}"),
                _ => format!("{minutes}m"),
            };
            let mut words = [arc, format!("{grinds}g"), format!("{cuts}c"), format!("{starts}s")];
            words.rotate_left(turn);
            if swap {
                words.swap(0, 2);
            }
            let done = Done {
                arc_minutes: Some(minutes),
                grinds: Some(grinds),
                cut_backs: Some(cuts),
                starts: Some(starts),
            };
            prop_assert_eq!(understand(&words), Ok(done));
        }

        #[test]
        fn any_words_are_understood_or_refused(words in prop::collection::vec(any::<String>(), 0..4)) {
            if let Ok(done) = understand(&words) {
                let given = [done.arc_minutes, done.grinds, done.cut_backs, done.starts];
                prop_assert_eq!(given.iter().flatten().count(), words.len());
                prop_assert!(given.into_iter().flatten().all(|amount| amount >= 0));
            }
        }

        #[test]
        fn a_number_without_a_unit_is_never_guessed(number in 0_u32..) {
            let word = number.to_string();
            prop_assert_eq!(understand(&[&word]), Err(Error::NoUnit(word)));
        }
    }
}
