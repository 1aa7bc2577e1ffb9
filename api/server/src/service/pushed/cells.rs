//! What a cell means: whole numbers as people write them, arc time, and times of a shop's clock. What is guessed is
//! noted; what cannot be understood is refused with what to write instead.

use std::collections::HashMap;

use chrono::{
    DateTime, FixedOffset, MappedLocalTime, NaiveDate, NaiveDateTime, NaiveTime, TimeZone,
};
use chrono_tz::Tz;
use domain::exposure::ArcTime;

use super::refusals::turned_into_a_date;
use super::{Judged, Outcome, Pushing};
use crate::service::instant::Zones;
use crate::sheets::reading::{Row, Table};

/// What people add to a number of pieces.
const PIECES: [&str; 4] = ["pcs", "pc", "pieces", "piece"];
const CLOCKS: [&str; 4] = [
    "%Y-%m-%d %H:%M",
    "%Y-%m-%d %H:%M:%S",
    "%Y-%m-%dT%H:%M",
    "%Y-%m-%dT%H:%M:%S",
];

/// What reads the rows of a sheet.
#[derive(Debug)]
pub(super) struct Reader<'t> {
    columns: HashMap<String, usize>,
    pub(super) how: &'t Pushing,
    zones: Zones,
    has_decimal_commas: bool,
}

impl<'t> Reader<'t> {
    pub(super) fn new(table: &Table, how: &'t Pushing, zones: Zones) -> Self {
        let columns = table.columns.iter().enumerate();
        let columns: HashMap<String, usize> = columns
            .map(|(place, name)| (name.to_ascii_lowercase(), place))
            .collect();
        let has_decimal_commas =
            how.has_decimal_commas || table.has_semicolons || agrees(table, &columns);
        Self {
            columns,
            how,
            zones,
            has_decimal_commas,
        }
    }

    pub(super) fn row<'r>(&'r self, row: &'r Row) -> Cells<'r> {
        Cells {
            reader: self,
            row,
            notes: Vec::new(),
            faults: Vec::new(),
        }
    }
}

/// The columns that hold decimals.
const DECIMALS: [&str; 4] = ["arc", "diameter", "bore", "price"];

/// Whether every decimal of a sheet is written with a comma.
fn agrees(table: &Table, columns: &HashMap<String, usize>) -> bool {
    let places: Vec<usize> = DECIMALS
        .iter()
        .filter_map(|name| columns.get(*name).copied())
        .collect();
    let rows = table.rows.iter();
    let cells = rows.flat_map(|row| places.iter().filter_map(|place| row.cells.get(*place)));
    let mut has_comma = false;
    for cell in cells {
        if cell.contains('.') {
            return false;
        }
        has_comma |= cell.contains(',');
    }
    has_comma
}

/// The cells of a row; what is guessed and what is wrong gathers.
#[derive(Debug)]
pub(super) struct Cells<'r> {
    reader: &'r Reader<'r>,
    row: &'r Row,
    pub(super) notes: Vec<String>,
    pub(super) faults: Vec<String>,
}

impl<'r> Cells<'r> {
    /// What stands under a column, if anything.
    pub(super) fn cell(&self, column: &str) -> Option<&'r str> {
        let place = self.reader.columns.get(column)?;
        let cell = self.row.cells.get(*place)?;
        (!cell.is_empty()).then_some(cell)
    }

    /// Whether the sheet has a column.
    pub(super) fn has(&self, column: &str) -> bool {
        self.reader.columns.contains_key(column)
    }

    /// Of an entry that an export tells to be taken back, or to take one back: neither is entered.
    pub(super) fn taken_back(&self) -> Option<Judged> {
        let was = self
            .cell("reversed")
            .is_some_and(|it| it.eq_ignore_ascii_case("yes"));
        let is = was || self.cell("reverses").is_some();
        is.then(|| Judged {
            outcome: Outcome::Blank,
            what_to_do: "it was taken back, so it is left out".to_owned(),
        })
    }

    /// Notes which of these are missing.
    pub(super) fn require(&mut self, columns: &[&str]) {
        for column in columns {
            if self.cell(column).is_none() {
                self.faults.push(format!("{column}: missing; fill it in"));
            }
        }
    }

    /// What was read, unless something is wrong with it.
    pub(super) fn read<T>(self, new: T) -> Result<(T, String), String> {
        if self.faults.is_empty() {
            Ok((new, self.notes.join("; ")))
        } else {
            Err(self.faults.join("; "))
        }
    }

    /// The same, owned.
    pub(super) fn text(&self, column: &str) -> Option<String> {
        self.cell(column).map(str::to_owned)
    }

    /// The site.
    pub(super) fn site(&self) -> Option<String> {
        self.text("site").or_else(|| self.reader.how.site.clone())
    }

    /// By whom.
    pub(super) fn by(&self) -> Option<String> {
        self.text("by").or_else(|| self.reader.how.by.clone())
    }

    /// The id that was given, or one that follows from what the row says and where it stands.
    pub(super) fn id(&self, told: &[&str], more: &[&str]) -> String {
        if let Some(id) = self.cell("row_id") {
            return id.to_owned();
        }
        let told = told
            .iter()
            .map(|column| self.cell(column).unwrap_or_default());
        let mut content: Vec<String> = told.map(str::to_owned).collect();
        let more = more
            .iter()
            .filter_map(|column| Some(format!("{column}={}", self.cell(column)?)));
        content.extend(more);
        format!(
            "sheet-{:016x}-{}",
            fnv(&content.join("\u{1f}")),
            self.row.line
        )
    }

    /// A whole number.
    pub(super) fn whole(&mut self, column: &str) -> Option<i64> {
        match whole(self.cell(column)?) {
            Ok((number, note)) => {
                self.notes
                    .extend(note.map(|note| format!("{column}: {note}")));
                Some(number)
            }
            Err(why) => {
                self.faults.push(format!("{column}: {why}"));
                None
            }
        }
    }

    /// A decimal with a full stop, whatever stands around it.
    pub(super) fn decimal(&mut self, column: &str) -> Option<String> {
        let figure = self.figure(self.cell(column)?);
        figure
            .map_err(|why| self.faults.push(format!("{column}: {why}")))
            .ok()
    }

    /// A decimal that stands somewhere in a cell.
    pub(super) fn figure(&self, text: &str) -> Result<String, String> {
        decimal(text, self.reader.has_decimal_commas)
    }

    /// A size; one that a spreadsheet turned into a date is never guessed.
    pub(super) fn size(&mut self, column: &str) -> Option<String> {
        self.no_date(column)?;
        self.decimal(column)
    }

    /// Text in which a size may stand, so that a spreadsheet may have turned it into a date.
    pub(super) fn no_date(&mut self, column: &str) -> Option<String> {
        let text = self.cell(column)?;
        match turned_into_a_date(text) {
            Some(why) => {
                self.faults.push(format!("{column}: {why}"));
                None
            }
            None => Some(text.to_owned()),
        }
    }

    /// A day.
    pub(super) fn day(&mut self, column: &str) -> Option<NaiveDate> {
        let text = self.cell(column)?;
        let day = NaiveDate::parse_from_str(text, "%Y-%m-%d");
        day.map_err(|_| {
            let why = format!("{column}: \"{text}\" is no day; write it as 2026-09-12");
            self.faults.push(why);
        })
        .ok()
    }

    /// Arc time, in minutes.
    pub(super) fn arc(&mut self) -> Option<i64> {
        match arc(self.cell("arc")?, self.reader.has_decimal_commas) {
            Ok(minutes) => Some(minutes),
            Err(why) => {
                self.faults.push(format!("arc: {why}"));
                None
            }
        }
    }

    /// An instant; it must be there, or be told for all rows.
    pub(super) fn instant(&mut self, column: &str) -> Option<DateTime<FixedOffset>> {
        let (column, text) = match (self.cell(column), &self.reader.how.at) {
            (Some(text), _) => (column, text),
            (None, Some(at)) => ("at", at.as_str()),
            (None, None) => {
                let why = format!("{column}: missing; write when it was, or give --at");
                self.faults.push(why);
                return None;
            }
        };
        let zone = self.reader.zones.of(self.site().as_deref());
        match instant(text, zone) {
            Ok((at, note)) => {
                self.notes
                    .extend(note.map(|note| format!("{column}: {note}")));
                Some(at)
            }
            Err(why) => {
                self.faults.push(format!("{column}: {why}"));
                None
            }
        }
    }
}

/// The hash of Fowler, Noll and Vo (FNV-1a, 64 bits): it is the same on every computer and with every version of this
/// program, which is all that is asked of it.
fn fnv(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// A value, with a note if something was guessed.
pub(in crate::service) type Read<T> = Result<(T, Option<String>), String>;

/// A whole number: `10`, or `10 pcs`, which is noted.
pub(in crate::service) fn whole(text: &str) -> Read<i64> {
    if let Ok(number) = text.parse() {
        return Ok((number, None));
    }
    let refuse = || {
        if text.contains([',', '.']) {
            format!("\"{text}\" is not a whole number; there are no parts of a piece")
        } else {
            format!("\"{text}\" is not a number; write it in digits, such as 10")
        }
    };
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    let (figure, word) = text.split_at(end);
    let word = word.trim().trim_end_matches('.');
    let is_pieces = PIECES.iter().any(|it| it.eq_ignore_ascii_case(word));
    match figure.parse() {
        Ok(value) if is_pieces => Ok((value, Some(format!("\"{text}\" was taken as {value}")))),
        _ => Err(refuse()),
    }
}

/// Arc time in whole minutes, with its unit: `75m`, `1h20`, `34h`.
fn arc(text: &str, has_decimal_commas: bool) -> Result<i64, String> {
    let is_figure = |letter: char| letter.is_ascii_digit() || [',', '.'].contains(&letter);
    if text.chars().all(is_figure) {
        return Err(format!("\"{text}\" has no unit; write {text}m for minutes"));
    }
    let figure = decimal(text, has_decimal_commas)?;
    let time = ArcTime::parse(&figure);
    let time = time.map_err(|_| format!("\"{text}\" is no arc time; write 75m, or 1h20"))?;
    if time.seconds() % 60 != 0 {
        return Err(format!("\"{text}\" is not in whole minutes; round it"));
    }
    Ok(time.seconds() / 60)
}

/// A decimal with a full stop; a comma is one only where it is known to be.
fn decimal(text: &str, has_decimal_commas: bool) -> Result<String, String> {
    let figure = text.replace(',', ".");
    if text.contains(',') && !has_decimal_commas {
        return Err(format!(
            "\"{text}\" has a comma and other rows a full stop; write {figure}, or say that decimals have commas \
             (decimal=,)"
        ));
    }
    Ok(figure)
}

/// An instant: RFC 3339 as it is, or a day and a time of the site's clock, which is noted. A time that the clock showed
/// twice is the first of the two. A day alone is its noon.
fn instant(text: &str, zone: Tz) -> Read<DateTime<FixedOffset>> {
    if let Ok(at) = DateTime::parse_from_rfc3339(text) {
        return Ok((at, None));
    }
    let clock = CLOCKS
        .iter()
        .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok());
    let day = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
    let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
    let (local, guessed) = match (clock, day) {
        (Some(local), _) => (local, format!("the time is that of the clock in {zone}")),
        (None, Some(day)) => (
            day.and_time(noon),
            format!("no time of day, so noon in {zone} was taken"),
        ),
        (None, None) => {
            return Err(format!(
                "\"{text}\" is not a time; write 2026-07-06 18:00, or with an offset 2026-07-06T18:00:00-03:00"
            ));
        }
    };
    match zone.from_local_datetime(&local) {
        MappedLocalTime::Single(at) => Ok((at.fixed_offset(), Some(guessed))),
        MappedLocalTime::Ambiguous(first, _) => Ok((
            first.fixed_offset(),
            Some(format!(
                "{guessed}; it was shown twice that night, the first was taken"
            )),
        )),
        MappedLocalTime::None => Err(format!(
            "the clock did not show {text} (it was put forward); write another time"
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_may_be_called_so_and_nothing_else() {
        assert_eq!(whole("10"), Ok((10, None)));
        assert_eq!(whole("-1"), Ok((-1, None)));
        for text in ["10 pcs", "10pcs", "10 pieces", "10 PC."] {
            let (value, note) = whole(text).expect(text);
            assert_eq!(value, 10);
            assert!(note.is_some_and(|note| note.contains(text)), "{text}");
        }
        for text in [
            "ten",
            "2,4",
            "2.0",
            "10 packs",
            "pcs",
            "99999999999999999999",
        ] {
            assert!(whole(text).expect_err(text).contains(text));
        }
    }

    #[test]
    fn arc_time_has_its_unit_and_a_comma_where_the_file_has_them() {
        assert_eq!(arc("75m", false), Ok(75));
        assert_eq!(arc("1h20", false), Ok(80));
        assert_eq!(arc("1,5h", true), Ok(90));
        for text in ["1,5h", "75", "soon"] {
            assert!(arc(text, false).expect_err(text).contains(text), "{text}");
        }
    }

    /// In 2026 clocks in Halifax go forward on 8 March, 02:00 to 03:00, and back on 1 November, 02:00 to 01:00 (the
    /// time zone database of IANA).
    #[test]
    fn a_time_without_an_offset_is_that_of_the_clock_at_the_site() {
        let zone = chrono_tz::America::Halifax;
        for (text, at, words) in [
            (
                "2026-07-06T18:00:00-03:00",
                "2026-07-06T18:00:00-03:00",
                None,
            ),
            (
                "2026-07-06 18:00",
                "2026-07-06T18:00:00-03:00",
                Some("clock in America/Halifax"),
            ),
            (
                "2026-07-06T18:00:00",
                "2026-07-06T18:00:00-03:00",
                Some("clock"),
            ),
            ("2026-07-06", "2026-07-06T12:00:00-03:00", Some("noon")),
            (
                "2026-11-01 01:30",
                "2026-11-01T01:30:00-03:00",
                Some("twice"),
            ),
        ] {
            let (told, note) = instant(text, zone).expect(text);
            assert_eq!(told.to_rfc3339(), at);
            assert_eq!(note.is_some(), words.is_some(), "{text}");
            assert!(
                note.unwrap_or_default().contains(words.unwrap_or_default()),
                "{text}"
            );
        }
        for text in [
            "6 July",
            "06/07/2026",
            "46209",
            "2026-13-01",
            "2026-03-08 02:30",
        ] {
            assert!(
                instant(text, zone).expect_err(text).contains(text),
                "{text}"
            );
        }
    }

    #[test]
    fn the_hash_has_its_reference_values() {
        assert_eq!(fnv(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv("a"), 0xaf63_dc4c_8601_ec8c);
    }
}
