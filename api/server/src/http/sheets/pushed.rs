//! A sheet that is pushed: CSV with a header row, whose rows are judged one by one, and which comes back
//! as it was with two columns added. What the columns of a sheet mean is told in its own file.

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, web};
use types::{JudgedRow, ProblemKind, PushedSheet, SHEET_MEDIA_TYPE};

use crate::http::error::Error;
use crate::sheets::csv::harmless;

/// What a spreadsheet puts in front of UTF-8.
const MARK: &str = "\u{feff}";
/// The most rows of one sheet.
const ROWS_MAX: usize = 1_000;
/// The columns that come back; a sheet that comes a second time has them already.
const RESULT: &str = "result";
const WHAT_TO_DO: &str = "what to do";

/// A sheet that can be read as a whole.
#[derive(Debug)]
pub(super) struct Pushed {
    columns: Vec<String>,
    pub(super) rows: Vec<Row>,
}

/// A row that has something in it.
#[derive(Debug)]
pub(super) struct Row {
    /// Its line; the header is line 1.
    line: u64,
    cells: Vec<String>,
}

/// What became of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Outcome {
    /// It is in.
    In,
    /// It came before, and says the same.
    AlreadyIn,
    /// A person has to do something about it.
    Refused,
}

impl Outcome {
    const fn as_str(self) -> &'static str {
        match self {
            Self::In => "in",
            Self::AlreadyIn => "already in",
            Self::Refused => "refused",
        }
    }
}

/// A row, and what to do about it or to know.
pub(super) type Judged = (Outcome, String);

/// Reads the text of a sheet.
pub(super) async fn text(
    request: &HttpRequest,
    body: web::Payload,
    limit: usize,
) -> Result<String, Error> {
    let told = request.headers().get(header::CONTENT_TYPE);
    let told = told.and_then(|told| told.to_str().ok()).unwrap_or_default();
    let kind = told.split(';').next().unwrap_or_default().trim();
    if !kind.eq_ignore_ascii_case("text/csv") {
        let why = "send the sheet as CSV, with Content-Type: text/csv".to_owned();
        return Err(Error::Request(ProblemKind::UnsupportedMediaType, why));
    }
    let read = body.to_bytes_limited(limit).await.map_err(|_| {
        let why = format!("the sheet is over {limit} bytes; cut it into several");
        Error::Request(ProblemKind::TooLarge, why)
    })?;
    let unread = |why: String| Error::Request(ProblemKind::MalformedRequest, why);
    let bytes = read.map_err(|error| unread(format!("the sheet cannot be read: {error}")))?;
    String::from_utf8(bytes.to_vec())
        .map_err(|_| unread("the sheet is not text in UTF-8; save it as CSV UTF-8".to_owned()))
}

impl Pushed {
    /// Reads a sheet that has to have some columns, each under one of its names.
    pub(super) fn read(text: &str, must: &[&[&str]]) -> Result<Self, Error> {
        Self::parse(text, must).map_err(|why| {
            let first = text.trim_start_matches(MARK).lines().next();
            let first = first.unwrap_or_default();
            let why = format!("{why}. The first line of the sheet is: {first}");
            Error::Request(ProblemKind::Invalid, why)
        })
    }

    fn parse(text: &str, must: &[&[&str]]) -> Result<Self, String> {
        let text = text.trim_start_matches(MARK);
        let first = text.lines().next().unwrap_or_default();
        let in_first = |letter| first.matches(letter).count();
        let has_semicolons = in_first(';') > in_first(',');
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(if has_semicolons { b';' } else { b',' })
            .flexible(true)
            .has_headers(false)
            .from_reader(text.as_bytes());
        let mut columns: Vec<String> = Vec::new();
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| format!("it cannot be read: {error}"))?;
            let cells: Vec<String> = record.iter().map(plain).collect();
            if columns.is_empty() {
                columns = cells;
                continue;
            }
            let line = record.position().map_or(0, |at| line(text, at));
            if cells.len() > columns.len() {
                let (has, under) = (cells.len(), columns.len());
                return Err(format!(
                    "line {line} has {has} values under {under} columns; put text with a comma in quotation marks"
                ));
            }
            if cells.iter().any(|cell| !cell.is_empty()) {
                rows.push(Row { line, cells });
            }
        }
        let sheet = Self { columns, rows };
        let missing = must.iter().find(|names| sheet.column(names).is_none());
        if let Some(name) = missing.and_then(|names| names.first()) {
            return Err(format!(
                "the column \"{name}\" is missing; it may be empty, but it must be there"
            ));
        }
        if sheet.rows.is_empty() {
            return Err("there are no rows under the header".to_owned());
        }
        if sheet.rows.len() > ROWS_MAX {
            let rows = sheet.rows.len();
            return Err(format!(
                "{rows} rows; cut it into sheets of at most {ROWS_MAX}"
            ));
        }
        Ok(sheet)
    }

    fn column(&self, names: &[&str]) -> Option<usize> {
        let is = |column: &String| names.iter().any(|name| column.eq_ignore_ascii_case(name));
        self.columns.iter().position(is)
    }

    /// What stands in a row under a column by one of its names, if anything.
    pub(super) fn cell<'r>(&self, row: &'r Row, names: &[&str]) -> Option<&'r str> {
        let cell = row.cells.get(self.column(names)?)?;
        (!cell.is_empty()).then_some(cell)
    }

    /// The sheet with what became of each row: as CSV, or as JSON where that is asked for.
    pub(super) fn answer(
        &self,
        judged: Vec<Judged>,
        (request, only_tried): (&HttpRequest, bool),
    ) -> HttpResponse {
        let told = self.told(judged, only_tried);
        let accept = request.headers().get(header::ACCEPT);
        let accept = accept.and_then(|it| it.to_str().ok()).unwrap_or_default();
        if accept.contains("application/json") {
            return HttpResponse::Ok().json(told);
        }
        HttpResponse::Ok()
            .insert_header((header::CONTENT_TYPE, SHEET_MEDIA_TYPE))
            .body(csv(&told))
    }

    fn told(&self, judged: Vec<Judged>, only_tried: bool) -> PushedSheet {
        let own = |column: &String| ![RESULT, WHAT_TO_DO].contains(&&**column);
        let kept: Vec<usize> = (0..self.columns.len())
            .filter(|place| own(&self.columns[*place]))
            .collect();
        let says = says(&judged, only_tried);
        let rows = self
            .rows
            .iter()
            .zip(judged)
            .map(|(row, (outcome, what_to_do))| JudgedRow {
                line: row.line,
                cells: kept
                    .iter()
                    .map(|place| row.cells.get(*place).cloned().unwrap_or_default())
                    .collect(),
                result: outcome.as_str().to_owned(),
                what_to_do,
            });
        PushedSheet {
            says,
            only_tried,
            rows: rows.collect(),
            columns: kept
                .iter()
                .map(|place| self.columns[*place].clone())
                .collect(),
        }
    }
}

/// `41 rows: 38 in, 1 already in, 2 need you.`
fn says(judged: &[Judged], only_tried: bool) -> String {
    let count = |of: Outcome| judged.iter().filter(|(outcome, _)| *outcome == of).count();
    let rows = judged.len();
    let noun = if rows == 1 { "row" } else { "rows" };
    let mut told = vec![format!("{} in", count(Outcome::In))];
    let already = count(Outcome::AlreadyIn);
    told.extend((already > 0).then(|| format!("{already} already in")));
    match count(Outcome::Refused) {
        0 => {}
        1 => told.push("1 needs you".to_owned()),
        more => told.push(format!("{more} need you")),
    }
    let tried = if only_tried {
        " Only tried: nothing has changed."
    } else {
        ""
    };
    format!("{rows} {noun}: {}.{tried}", told.join(", "))
}

fn csv(told: &PushedSheet) -> String {
    // RFC 4180 ends a line with both characters.
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let header = told.columns.iter().map(|it| harmless(it));
    let added = [RESULT, WHAT_TO_DO].map(str::to_owned);
    let rows = told.rows.iter().map(|row| {
        let cells = row.cells.iter().chain([&row.result, &row.what_to_do]);
        cells.map(|cell| harmless(cell)).collect::<Vec<String>>()
    });
    let header: Vec<String> = header.chain(added).collect();
    for record in std::iter::once(header).chain(rows) {
        // Memory takes what is written.
        if writer.write_record(record).is_err() {
            break;
        }
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// The line on which a record begins. After a line that ends with both a carriage return and a line feed, the
/// reader takes the line feed for the first character of the next record.
fn line(text: &str, at: &csv::Position) -> u64 {
    let byte = usize::try_from(at.byte()).unwrap_or(usize::MAX);
    let is_before = text.as_bytes().get(byte) == Some(&b'\n');
    at.line() + u64::from(is_before)
}

/// A cell without blanks around it, and without the apostrophe that keeps a spreadsheet from running it.
fn plain(cell: &str) -> String {
    let cell = cell.trim();
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@']) => rest.to_owned(),
        _ => cell.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MUST: &[&[&str]] = &[&["date", "starts"], &["heads"]];

    #[test]
    fn a_sheet_is_read_whatever_program_wrote_it() {
        for text in [
            "date,heads\r\n2026-09-12,12\r\n",
            "\u{feff}Starts;HEADS\n2026-09-12;12\n;;\n",
            "note,date,heads\n\"a, b\",2026-09-12, 12\n",
        ] {
            let sheet = Pushed::parse(text.trim_end_matches(";\n"), MUST).expect(text);
            assert_eq!((sheet.rows.len(), sheet.rows[0].line), (1, 2), "{text}");
            assert_eq!(sheet.cell(&sheet.rows[0], &["heads"]), Some("12"));
            assert_eq!(sheet.cell(&sheet.rows[0], &["kit"]), None);
        }
    }

    #[test]
    fn a_sheet_that_cannot_be_taken_as_a_whole_says_why() {
        for (text, words) in [
            ("date\n2026-09-12\n", "\"heads\" is missing"),
            ("heads\n12\n", "\"date\" is missing"),
            ("date,heads\n", "no rows"),
            ("date,heads\n1,2,3\n", "line 2 has 3 values"),
            ("", "missing"),
        ] {
            let why = Pushed::parse(text, MUST).expect_err(text);
            assert!(why.contains(words), "{text}: {why}");
        }
    }

    #[test]
    fn the_first_line_adds_up() {
        use Outcome::{AlreadyIn, In, Refused};
        let says_of = |of: &[Outcome]| {
            let judged: Vec<Judged> = of.iter().map(|it| (*it, String::new())).collect();
            says(&judged, false)
        };
        assert_eq!(says_of(&[In, Refused]), "2 rows: 1 in, 1 needs you.");
        assert_eq!(
            says_of(&[In, AlreadyIn, Refused, Refused]),
            "4 rows: 1 in, 1 already in, 2 need you."
        );
        assert_eq!(says_of(&[In]), "1 row: 1 in.");
    }

    #[test]
    fn what_comes_back_can_be_sent_again() {
        let text = "date,heads,result,what to do\n2026-09-12,12,refused,\"say, why\"\n";
        let sheet = Pushed::parse(text, MUST).expect("it is read");
        let told = sheet.told(vec![(Outcome::In, "=note".to_owned())], false);
        assert_eq!(
            csv(&told),
            "date,heads,result,what to do\r\n2026-09-12,12,in,'=note\r\n"
        );
    }
}
