//! Values parted by commas, semicolons or tabs, in UTF-8, UTF-16 or the code page of western Europe.

use std::borrow::Cow;
use std::io::Read;

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

use super::{Found, Row, Rows, TEXT_MAX, Unread, place};
use types::SheetForm;

/// What is put behind a text, as a line of its own: a text that ends within quotation marks would have it in a cell.
const END: &[u8] = b"\n\0";
/// How many lines tell what parts the values.
const LOOK_AT: usize = 20;

pub(super) fn read(bytes: &[u8]) -> Result<Found, Unread> {
    if bytes.len() > TEXT_MAX {
        let why = format!("the sheet is over {TEXT_MAX} bytes; cut it into several");
        return Err(Unread::TooLarge(why));
    }
    let text = decoded(bytes)?;
    let separator = separator(&text);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .flexible(true)
        .has_headers(false)
        .from_reader(text.as_bytes().chain(END));
    let mut rows = Rows::default();
    let mut record = csv::StringRecord::new();
    let mut lines = Lines::new(&text);
    while reader
        .read_record(&mut record)
        .map_err(|error| Unread::Invalid(format!("the sheet cannot be read: {error}")))?
    {
        let mut row = Row {
            line: record.position().map_or(0, |at| lines.at(at.byte())),
            cells: Vec::new(),
        };
        if record.iter().eq(["\0"]) {
            return Ok(Found {
                form: SheetForm::Csv,
                rows: rows.into_rows(),
                has_semicolons: separator == b';',
            });
        }
        if record.iter().any(|cell| cell.ends_with('\0')) {
            return Err(open_quotation(row.line));
        }
        for (column, cell) in record.iter().enumerate() {
            place(&mut row, column, cell)?;
        }
        rows.keep(row)?;
    }
    Err(open_quotation(lines.line))
}

fn open_quotation(line: u64) -> Unread {
    Unread::Invalid(format!(
        "line {line} opens a quotation mark that is never closed, so the file is cut short or the mark should be \
         doubled; mend that line, or save the sheet anew"
    ))
}

/// The text: what the mark at the beginning says, else UTF-8, else what spreadsheets of western Europe write.
fn decoded(bytes: &[u8]) -> Result<Cow<'_, str>, Unread> {
    let encoding = Encoding::for_bom(bytes).map(|(encoding, _)| encoding);
    let encoding = encoding.or_else(|| wide(bytes)).unwrap_or_else(|| {
        if std::str::from_utf8(bytes).is_ok() {
            UTF_8
        } else {
            WINDOWS_1252
        }
    });
    let (text, used, is_damaged) = encoding.decode(bytes);
    if is_damaged {
        return Err(Unread::Invalid(format!(
            "the text begins as {}, but is damaged or cut short; save it anew as CSV UTF-8",
            used.name()
        )));
    }
    if text.contains('\0') {
        let why = "this is no text, though it is called so; save the sheet as CSV, XLSX or ODS";
        return Err(Unread::Invalid(why.to_owned()));
    }
    Ok(text)
}

/// UTF-16 without a mark: every other byte of the first line is nothing.
fn wide(bytes: &[u8]) -> Option<&'static Encoding> {
    match bytes {
        [first, 0, second, 0, ..] if *first != 0 && *second != 0 => Some(UTF_16LE),
        [0, first, 0, second, ..] if *first != 0 && *second != 0 => Some(UTF_16BE),
        _ => None,
    }
}

/// What parts the values: of comma, semicolon and tab the one that is most often in one of the first lines.
fn separator(text: &str) -> u8 {
    let most = |letter: char| {
        let lines = text.lines().take(LOOK_AT);
        lines
            .map(|line| line.matches(letter).count())
            .max()
            .unwrap_or_default()
    };
    let (comma, semicolon, tab) = (most(','), most(';'), most('\t'));
    if tab > comma && tab > semicolon {
        b'\t'
    } else if semicolon > comma {
        b';'
    } else {
        b','
    }
}

/// Counts the lines up to a byte; the bytes that are asked for only grow. The reader may count the line feed of the
/// line before to a record.
struct Lines<'t> {
    text: &'t [u8],
    counted: usize,
    line: u64,
}

impl<'t> Lines<'t> {
    fn new(text: &'t str) -> Self {
        Self {
            text: text.as_bytes(),
            counted: 0,
            line: 1,
        }
    }

    /// The line on which a record begins. The reader takes the end of the line before, and blank lines, for the
    /// beginning of a record, so they are passed over.
    fn at(&mut self, byte: u64) -> u64 {
        let from = usize::try_from(byte).unwrap_or(usize::MAX);
        let rest = self.text.get(from..).unwrap_or_default();
        let ends = rest.iter().take_while(|it| matches!(it, b'\r' | b'\n'));
        let upto = from.saturating_add(ends.count()).min(self.text.len());
        for byte in self.text.get(self.counted..upto).unwrap_or_default() {
            self.line += u64::from(*byte == b'\n');
        }
        self.counted = self.counted.max(upto);
        self.line
    }
}
