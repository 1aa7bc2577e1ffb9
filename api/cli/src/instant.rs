//! Instants and spans of time as a person writes them: a time of day, an instant with its offset,
//! a number of days.

use chrono::{DateTime, Days, FixedOffset, MappedLocalTime, NaiveTime};

use crate::env::Zone;

/// When something happened: an RFC 3339 instant, or a time of day (`14:02`), which means the last
/// time the clock showed it. Where the clock shows it twice (it is put back), the first is meant.
pub(crate) fn parse_at(
    text: &str,
    now: DateTime<FixedOffset>,
    zone: Zone,
) -> Result<DateTime<FixedOffset>, String> {
    if let Ok(instant) = DateTime::parse_from_rfc3339(text) {
        return Ok(instant);
    }
    let time = NaiveTime::parse_from_str(text, "%H:%M").map_err(|_| {
        format!(
            "\"{text}\" is not a time; write 14:02, or 2026-05-11T14:02:00-03:00 for another day"
        )
    })?;
    let today = zone.clock(&now).date();
    let on = |days_ago| {
        let day = today.checked_sub_days(Days::new(days_ago))?;
        match zone.instants(day.and_time(time)) {
            MappedLocalTime::Single(instant) | MappedLocalTime::Ambiguous(instant, _) => {
                Some(instant)
            }
            MappedLocalTime::None => None,
        }
    };
    on(0)
        .filter(|instant| *instant <= now)
        .or_else(|| on(1))
        .ok_or_else(|| {
            format!(
                "the clock did not show {text} on that day (it was put forward); write another time"
            )
        })
}

/// An instant to plan from: RFC 3339, handed on as it was written.
pub(crate) fn parse_now(text: &str) -> Result<String, String> {
    match DateTime::parse_from_rfc3339(text) {
        Ok(_) => Ok(text.to_owned()),
        Err(_) => Err("write it with its offset, such as 2026-06-15T08:00:00-03:00".to_owned()),
    }
}

/// A number of days: `14d` or `2w`.
pub(crate) fn parse_days(text: &str) -> Result<i64, String> {
    let days = match text.split_at_checked(text.len().saturating_sub(1)) {
        Some((figure, "d")) => figure.parse().ok(),
        Some((figure, "w")) => figure
            .parse()
            .ok()
            .and_then(|weeks: i64| weeks.checked_mul(7)),
        _ => None,
    };
    days.filter(|days| *days >= 0)
        .ok_or_else(|| "write it with its unit, such as 14d for days or 2w for weeks".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    // Halifax without summer time.
    fn zone() -> Zone {
        Zone::Fixed(FixedOffset::west_opt(4 * 3600).expect("an offset"))
    }

    fn at(text: &str) -> Result<String, String> {
        let now = DateTime::parse_from_rfc3339("2026-11-02T00:30:00-04:00").expect("an instant");
        parse_at(text, now, zone()).map(|instant| instant.to_rfc3339())
    }

    #[test]
    fn a_time_of_day_is_the_last_time_the_clock_showed_it() {
        assert_eq!(at("00:10").as_deref(), Ok("2026-11-02T00:10:00-04:00"));
        assert_eq!(at("00:30").as_deref(), Ok("2026-11-02T00:30:00-04:00"));
        assert_eq!(at("23:50").as_deref(), Ok("2026-11-01T23:50:00-04:00"));
    }

    #[test]
    fn an_instant_keeps_the_offset_it_was_written_with() {
        let text = "2026-10-31T23:40:00-03:00";
        assert_eq!(at(text).as_deref(), Ok(text));
    }

    #[test]
    fn what_is_no_time_is_refused_with_an_example() {
        for text in ["75", "25:00", "yesterday", "2026-10-31", ""] {
            assert!(
                at(text).expect_err("it is no time").contains("14:02"),
                "{text}"
            );
        }
    }

    #[test]
    fn days_need_their_unit() {
        assert_eq!(parse_days("14d"), Ok(14));
        assert_eq!(parse_days("2w"), Ok(14));
        for text in [
            "14",
            "",
            "d",
            "-3d",
            "2m",
            "9223372036854775807w",
            "3\u{e9}",
        ] {
            assert!(parse_days(text).is_err(), "{text}");
        }
    }
}
