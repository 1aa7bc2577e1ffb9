//! Instants as the database keeps them (microseconds since 1970, UTC), and site zones.

use std::collections::HashMap;

use chrono::{
    DateTime, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeDelta, TimeZone, Utc,
};
use chrono_tz::Tz;
use types::Violation;

/// The instant so many microseconds after 1970 began. What is out of range, which no check lets
/// in, becomes 1970.
pub fn from_micros(micros: i64) -> DateTime<Utc> {
    DateTime::from_timestamp_micros(micros).unwrap_or_default()
}

/// The same with the offset it was made with.
pub fn with_offset(micros: i64, offset_minutes: i64) -> DateTime<FixedOffset> {
    let offset = i32::try_from(offset_minutes * 60)
        .ok()
        .and_then(FixedOffset::east_opt);
    let offset = offset.unwrap_or_else(|| Utc.fix());
    from_micros(micros).with_timezone(&offset)
}

/// The offset of an instant, in whole minutes.
pub fn offset_minutes(at: &DateTime<FixedOffset>) -> i64 {
    i64::from(at.offset().local_minus_utc()) / 60
}

/// The zone of that IANA name.
///
/// # Errors
/// A text that says what is wrong.
pub fn zone(name: &str) -> Result<Tz, String> {
    name.parse().map_err(|_| {
        format!("\"{name}\" is not a time zone; give an IANA name, such as America/Halifax")
    })
}

/// The zone of a site on record. It was checked when the site was set up.
pub fn site_zone(name: &str) -> Tz {
    zone(name).unwrap_or(Tz::UTC)
}

/// The zones of sites, by their codes.
#[derive(Clone, Debug)]
pub struct Zones {
    first: Tz,
    named: HashMap<String, Tz>,
}

impl Zones {
    /// That of the first site, which holds where no other is named.
    pub fn new(first: Tz) -> Self {
        let named = HashMap::new();
        Self { first, named }
    }

    /// That of a site.
    pub fn add(&mut self, site: &str, zone: Tz) {
        self.named.insert(site.to_ascii_lowercase(), zone);
    }

    /// That of the site, or of the first.
    pub fn of(&self, site: Option<&str>) -> Tz {
        let named = site.and_then(|site| self.named.get(&site.to_ascii_lowercase()));
        named.copied().unwrap_or(self.first)
    }

    /// An instant with the offset that the clock at a site had.
    pub fn at<T: TimeZone>(&self, site: &str, instant: &DateTime<T>) -> DateTime<FixedOffset> {
        instant.with_timezone(&self.of(Some(site))).fixed_offset()
    }
}

/// The instant a planning call asks for, or the present.
///
/// # Errors
/// A violation of `?now`.
pub fn asked(now: Option<&str>, present: DateTime<Utc>) -> Result<DateTime<Utc>, Vec<Violation>> {
    asked_as("?now", now, present)
}

/// The same under another name.
///
/// # Errors
/// A violation of that name.
pub fn asked_as(
    pointer: &str,
    told: Option<&str>,
    present: DateTime<Utc>,
) -> Result<DateTime<Utc>, Vec<Violation>> {
    let Some(text) = told else { return Ok(present) };
    // In a query, a plus sign that was not escaped arrives as a blank.
    let text = text.replace(' ', "+");
    DateTime::parse_from_rfc3339(&text)
        .map(|at| at.to_utc())
        .map_err(|_| {
            let detail = format!(
                "\"{text}\" is not an instant; give RFC 3339, such as 2026-06-15T08:00:00-03:00"
            );
            vec![Violation::new(pointer, detail)]
        })
}

/// The instant since which something is asked, by what is told of it: so many days or weeks back, the
/// beginning of a day at the site, or an instant.
///
/// # Errors
/// A violation of `?since`.
pub fn since(
    told: &str,
    (now, zone): (DateTime<Utc>, Tz),
) -> Result<DateTime<Utc>, Vec<Violation>> {
    let refuse = |why: &str| Err(vec![Violation::new("?since", format!("\"{told}\" {why}"))]);
    let back = |number: &str, days: i64| {
        let number: i64 = number.parse().ok().filter(|it| (1..=3_660).contains(it))?;
        now.checked_sub_signed(TimeDelta::try_days(number.checked_mul(days)?)?)
    };
    let text = told.trim();
    let day = text.parse::<NaiveDate>().ok();
    let found = match (text.strip_suffix('d'), text.strip_suffix('w'), day) {
        (Some(number), _, _) => back(number, 1),
        (_, Some(number), _) => back(number, 7),
        (_, _, Some(day)) => Some(start_of_day(day, zone)),
        // In a query, a plus sign that was not escaped arrives as a blank.
        (None, None, None) => DateTime::parse_from_rfc3339(&text.replace(' ', "+"))
            .ok()
            .map(|at| at.to_utc()),
    };
    match found {
        None => {
            refuse("is no time; give 10d, 2w, a day such as 2026-06-01, or an instant of RFC 3339")
        }
        Some(at) if at > now => refuse("is still to come; give a time that is past"),
        Some(at) => Ok(at),
    }
}

/// The number of the day on which an instant falls in a zone: days since 1 January 1970.
pub fn day_number(at: DateTime<Utc>, zone: Tz) -> i64 {
    let day = at.with_timezone(&zone).date_naive();
    (day - NaiveDate::default()).num_days()
}

/// The day of that number.
pub fn day_of(number: i64) -> NaiveDate {
    let days = TimeDelta::try_days(number).unwrap_or_default();
    NaiveDate::default()
        .checked_add_signed(days)
        .unwrap_or_default()
}

/// The first instant of a day in a zone.
pub fn start_of_day(day: NaiveDate, zone: Tz) -> DateTime<Utc> {
    let midnight = day.and_time(NaiveTime::MIN);
    zone.from_local_datetime(&midnight)
        .earliest()
        .map_or_else(|| midnight.and_utc(), |at| at.to_utc())
}

/// The instant of a local time in a zone: of a time that comes twice when clocks go back the first, of one
/// that is left out when they go forward the one so long after the hour before.
pub fn of_local(local: NaiveDateTime, zone: Tz) -> DateTime<Utc> {
    let hour = TimeDelta::hours(1);
    if let Some(at) = zone.from_local_datetime(&local).earliest() {
        return at.to_utc();
    }
    let before = zone.from_local_datetime(&(local - hour)).latest();
    before.map_or_else(|| local.and_utc(), |at| at.to_utc() + hour)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// In 2026 clocks in Halifax go forward on 8 March, 02:00 to 03:00, and back on 1 November, 02:00
    /// to 01:00 (the time zone database of IANA).
    #[test]
    fn a_local_time_is_an_instant_on_either_side_of_a_change_of_clocks() {
        let zone = chrono_tz::America::Halifax;
        for (local, utc) in [
            ("2026-03-08T01:59:00", "2026-03-08T05:59:00Z"),
            ("2026-03-08T02:30:00", "2026-03-08T06:30:00Z"),
            ("2026-03-08T03:00:00", "2026-03-08T06:00:00Z"),
            ("2026-10-30T12:00:00", "2026-10-30T15:00:00Z"),
            ("2026-11-01T00:59:00", "2026-11-01T03:59:00Z"),
            ("2026-11-01T01:30:00", "2026-11-01T04:30:00Z"),
            ("2026-11-01T02:00:00", "2026-11-01T06:00:00Z"),
            ("2026-11-02T12:00:00", "2026-11-02T16:00:00Z"),
        ] {
            let at = of_local(local.parse().expect("a local time"), zone);
            assert_eq!(
                at,
                utc.parse::<DateTime<Utc>>().expect("an instant"),
                "{local}"
            );
        }
    }
}
