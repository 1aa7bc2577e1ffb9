//! Sheets of text fields by RFC 4180, UTF-8, written and read a record at a time. Nothing at all is an
//! empty field, and an empty text is two quotation marks, so that both come back as they were.

use std::io::{self, BufRead, Write};

/// The longest record that is read; a photo in base64 is far below.
const RECORD_MAX: usize = 64 << 20;

/// A record, and the line that it begins in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record {
    /// The line, from 1.
    pub line: u64,
    /// Its fields.
    pub fields: Vec<Option<String>>,
}

/// Writes a record.
///
/// # Errors
/// The output fails.
pub fn write(out: &mut impl Write, fields: &[Option<String>]) -> io::Result<()> {
    for (index, field) in fields.iter().enumerate() {
        if index > 0 {
            out.write_all(b",")?;
        }
        match field {
            None => {}
            Some(field) if is_bare(field) => out.write_all(field.as_bytes())?,
            Some(field) => write!(out, "\"{}\"", field.replace('"', "\"\""))?,
        }
    }
    out.write_all(b"\r\n")
}

/// Whether a field means itself without quotation marks.
fn is_bare(field: &str) -> bool {
    !field.is_empty()
        && !field.contains(['"', ',', '\r', '\n'])
        && !field.starts_with(' ')
        && !field.ends_with(' ')
}

/// Reads records.
#[derive(Debug)]
pub struct Reader<R> {
    input: R,
    line: u64,
}

/// Why a record cannot be read: the line, and what is wrong with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spoilt {
    /// The line, from 1.
    pub line: u64,
    /// What is wrong, and what to do.
    pub why: String,
}

/// Where the reader is in a field.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    Start,
    Bare,
    Quoted,
    /// After a quotation mark inside a quoted field: its end, or half of a doubled one.
    Mark,
    /// After a carriage return, which must be followed by a line feed.
    Return,
}

impl<R: BufRead> Reader<R> {
    /// A reader at the start of a sheet.
    pub fn new(input: R) -> Self {
        Self { input, line: 1 }
    }

    /// The next record, or nothing at the end.
    ///
    /// # Errors
    /// The input fails or is not a sheet; the line says where.
    pub fn next_record(&mut self) -> Result<Option<Record>, Spoilt> {
        let line = self.line;
        let mut fields = Fields::default();
        loop {
            let byte = self.byte()?;
            let Some(byte) = byte else {
                return fields.at_end(line);
            };
            if fields.size > RECORD_MAX {
                let why = "a record is longer than 64 MiB; a quotation mark is missing before here";
                return Err(self.spoilt(why));
            }
            let ended = fields.take(byte).map_err(|why| self.spoilt(why))?;
            if byte == b'\n' {
                self.line += 1;
            }
            if ended {
                let fields = fields.whole;
                return Ok(Some(Record { line, fields }));
            }
        }
    }

    /// What it reads from.
    pub fn into_inner(self) -> R {
        self.input
    }

    fn byte(&mut self) -> Result<Option<u8>, Spoilt> {
        let read = self.input.fill_buf();
        let byte = match read {
            Ok(buffer) => buffer.first().copied(),
            Err(error) => return Err(self.spoilt(&format!("it cannot be read: {error}"))),
        };
        if byte.is_some() {
            self.input.consume(1);
        }
        Ok(byte)
    }

    fn spoilt(&self, why: &str) -> Spoilt {
        Spoilt {
            line: self.line,
            why: why.to_owned(),
        }
    }
}

/// The fields of the record that is being read.
struct Fields {
    whole: Vec<Option<String>>,
    begun: Vec<u8>,
    at: At,
    size: usize,
}

impl Default for Fields {
    fn default() -> Self {
        Self {
            whole: Vec::new(),
            begun: Vec::new(),
            at: At::Start,
            size: 0,
        }
    }
}

impl Fields {
    /// Takes a byte; whether the record ends with it.
    fn take(&mut self, byte: u8) -> Result<bool, &'static str> {
        self.size += 1;
        match (self.at, byte) {
            (At::Return, b'\n') => return Ok(true),
            (At::Return, _) => {
                return Err("a carriage return stands alone; put the field in quotes");
            }
            (At::Quoted, b'"') => self.at = At::Mark,
            (At::Quoted, _) => self.begun.push(byte),
            (At::Mark, b'"') => {
                self.begun.push(b'"');
                self.at = At::Quoted;
            }
            (_, b',') => self.end_field()?,
            (_, b'\n') => {
                self.end_field()?;
                return Ok(true);
            }
            (_, b'\r') => {
                self.end_field()?;
                self.at = At::Return;
            }
            (At::Start, b'"') => self.at = At::Quoted,
            (At::Bare, b'"') => {
                return Err(
                    "a quotation mark stands inside a field; put the field in quotes and double it",
                );
            }
            (At::Start | At::Bare, _) => {
                self.begun.push(byte);
                self.at = At::Bare;
            }
            (At::Mark, _) => {
                return Err(
                    "text follows a closing quotation mark; double the marks inside a field",
                );
            }
        }
        Ok(false)
    }

    fn end_field(&mut self) -> Result<(), &'static str> {
        let text = String::from_utf8(std::mem::take(&mut self.begun));
        let text = text.map_err(|_| "a field is not UTF-8; save the file as UTF-8")?;
        self.whole.push((self.at != At::Start).then_some(text));
        self.at = At::Start;
        Ok(())
    }

    /// What the end of the input makes of it; the last line may lack its end.
    fn at_end(mut self, line: u64) -> Result<Option<Record>, Spoilt> {
        let spoilt = |why: &str| Spoilt {
            line,
            why: why.to_owned(),
        };
        match self.at {
            At::Start if self.whole.is_empty() => return Ok(None),
            At::Quoted => {
                return Err(spoilt(
                    "a quotation mark is opened in this record and never closed",
                ));
            }
            At::Start | At::Bare | At::Mark => self.end_field().map_err(spoilt)?,
            At::Return => {}
        }
        let fields = self.whole;
        Ok(Some(Record { line, fields }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &[u8]) -> Result<Vec<Record>, Spoilt> {
        let mut reader = Reader::new(text);
        let mut records = Vec::new();
        while let Some(record) = reader.next_record()? {
            records.push(record);
        }
        Ok(records)
    }

    fn some(fields: &[&str]) -> Vec<Option<String>> {
        fields
            .iter()
            .map(|field| Some((*field).to_owned()))
            .collect()
    }

    #[test]
    fn nasty_text_comes_back_as_it_was() {
        let fields = vec![
            Some("plain".to_owned()),
            None,
            Some(String::new()),
            Some("a \"b\", c".to_owned()),
            Some("two\r\nlines\nand a lone\rreturn".to_owned()),
            Some("=1+1".to_owned()),
            Some("-1 @x +y".to_owned()),
            Some(" blanks ".to_owned()),
            Some("🔥 Ø 2,4".to_owned()),
            Some("\"".to_owned()),
            Some("nul \0".to_owned()),
        ];
        let mut out = Vec::new();
        write(&mut out, &fields).expect("it is written");
        write(&mut out, &some(&["next"])).expect("it is written");
        let read = read(&out).expect("it is a sheet");
        assert_eq!(read[0], Record { line: 1, fields });
        // The first record holds two line feeds, so the second begins in line 4.
        assert_eq!((read[1].line, read.len()), (4, 2));
    }

    #[test]
    fn a_sheet_is_written_as_the_standard_says() {
        let mut out = Vec::new();
        let fields = [
            Some("a".to_owned()),
            None,
            Some(String::new()),
            Some("b,\"c\"".to_owned()),
        ];
        write(&mut out, &fields).expect("it is written");
        assert_eq!(out, b"a,,\"\",\"b,\"\"c\"\"\"\r\n");
    }

    #[test]
    fn either_end_of_a_line_is_read_and_the_last_may_be_missing() {
        for text in ["a,b\r\nc,d\r\n", "a,b\nc,d\n", "a,b\r\nc,d"] {
            let records = read(text.as_bytes()).expect("it is a sheet");
            assert_eq!(records.len(), 2, "{text:?}");
            assert_eq!(records[0].fields, some(&["a", "b"]));
            assert_eq!(
                (records[1].line, &records[1].fields),
                (2, &some(&["c", "d"]))
            );
        }
    }

    #[test]
    fn what_is_no_sheet_is_told_with_its_line() {
        for (text, line) in [
            (&b"a\nb\"c\n"[..], 2),
            (b"a\n\"b\" c\n", 2),
            (b"a\n\"b\nc", 2),
            (b"a\rb\n", 1),
            (b"a\n\xff\n", 2),
        ] {
            let spoilt = read(text).expect_err("it is none");
            assert_eq!(spoilt.line, line, "{spoilt:?}");
        }
    }
}
