//! A file of comma-separated values (RFC 4180) with a header row, as rows under known columns.
//! Spreadsheets of some countries put semicolons between the values; both are read.

use std::collections::HashMap;
use std::fs;
use std::path::Path;

use types::BATCH_MAX;

use super::columns::Kind;
use crate::failure::Failure;

/// What a spreadsheet puts in front of UTF-8.
const MARK: &str = "\u{feff}";

/// A file that can be read as a whole.
#[derive(Debug)]
pub(crate) struct File {
    /// What it holds.
    pub(crate) kind: Kind,
    /// Its columns, in its order.
    pub(crate) columns: Vec<&'static str>,
    /// Its rows.
    pub(crate) rows: Vec<Row>,
    /// Whether values are parted by semicolons, and decimals therefore by commas.
    pub(crate) has_decimal_commas: bool,
}

/// A row.
#[derive(Clone, Debug, Default)]
pub(crate) struct Row {
    /// Its line in the file; the header is line 1.
    pub(crate) line: u64,
    /// Its cells, by column; empty ones are not there.
    cells: HashMap<&'static str, String>,
}

impl Row {
    /// What stands under a column, if anything.
    pub(crate) fn cell(&self, column: &str) -> Option<&str> {
        self.cells.get(column).map(String::as_str)
    }

    /// What stands under a column, owned.
    pub(crate) fn text(&self, column: &str) -> Option<String> {
        self.cell(column).map(str::to_owned)
    }

    /// The id that was given, or one that follows from what the row says and where it stands.
    pub(crate) fn id(&self, told: &[&str]) -> String {
        if let Some(id) = self.cell("row_id") {
            return id.to_owned();
        }
        let cells = told
            .iter()
            .map(|column| self.cell(column).unwrap_or_default());
        let content: Vec<&str> = cells.collect();
        format!("sheet-{:016x}-{}", fnv(&content.join("\u{1f}")), self.line)
    }
}

/// The hash of Fowler, Noll and Vo (FNV-1a, 64 bits): it is the same on every computer and with every
/// version of this program, which is all that is asked of it.
fn fnv(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// The text of a file.
pub(crate) fn read(path: &Path) -> Result<String, Failure> {
    let bytes = fs::read(path).map_err(|source| Failure::File {
        path: path.to_owned(),
        source,
    })?;
    String::from_utf8(bytes).map_err(|_| Failure::Sheet {
        path: path.to_owned(),
        why: "it is not text in UTF-8; save it as CSV UTF-8".to_owned(),
    })
}

impl File {
    /// Reads a file.
    pub(crate) fn read(path: &Path) -> Result<Self, Failure> {
        let text = read(path)?;
        Self::parse(&text).map_err(|why| Failure::Sheet {
            path: path.to_owned(),
            why,
        })
    }

    /// Reads a text.
    fn parse(text: &str) -> Result<Self, String> {
        let text = text.trim_start_matches(MARK);
        let first = text.lines().next().unwrap_or_default();
        let in_first = |letter| first.matches(letter).count();
        let has_semicolons = in_first(';') > in_first(',');
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(if has_semicolons { b';' } else { b',' })
            .flexible(true)
            .has_headers(false)
            .from_reader(text.as_bytes());
        let mut records = reader.records();
        let header = records.next().transpose();
        let header = header.map_err(|error| format!("its first line cannot be read: {error}"))?;
        let header: Vec<String> = header.iter().flatten().map(str::to_owned).collect();
        let (kind, columns) =
            Kind::of(&header).map_err(|why| format!("{why}. Its first line is: {first}"))?;
        let mut rows = Vec::new();
        for record in records {
            let record = record.map_err(|error| format!("it cannot be read: {error}"))?;
            let line = record.position().map_or(0, |at| line_at(text, at.byte()));
            if record.len() > columns.len() {
                return Err(format!(
                    "line {line} has {} values under {} columns; put text with a comma in quotation marks",
                    record.len(),
                    columns.len()
                ));
            }
            let cells = columns.iter().copied().zip(record.iter().map(unescaped));
            let cells = cells.filter(|(_, text)| !text.is_empty());
            rows.push(Row {
                line,
                cells: cells
                    .map(|(column, text)| (column, text.to_owned()))
                    .collect(),
            });
        }
        rows.retain(|row| !row.cells.is_empty());
        if rows.is_empty() {
            return Err("it has no rows under its header".to_owned());
        }
        if rows.len() > BATCH_MAX {
            return Err(format!(
                "{} rows; cut it into files of at most {BATCH_MAX}",
                rows.len()
            ));
        }
        Ok(Self {
            kind,
            columns,
            rows,
            has_decimal_commas: has_semicolons,
        })
    }
}

/// The line of a record that begins at that byte. The reader may count the line feed of the line
/// before to it.
fn line_at(text: &str, byte: u64) -> u64 {
    let byte = usize::try_from(byte).unwrap_or(usize::MAX);
    let feeds = text.bytes().enumerate().filter(|(_, it)| *it == b'\n');
    1 + feeds
        .take_while(|(at, _)| *at <= byte)
        .fold(0, |lines, _| lines + 1)
}

/// A cell without blanks around it, and without the apostrophe that keeps a spreadsheet from running
/// it.
fn unescaped(cell: &str) -> &str {
    let cell = cell.trim();
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@']) => rest,
        _ => cell,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADER: &str = "drawer,part,counted,counted_at,by";

    #[test]
    fn a_file_is_read_whatever_program_wrote_it() {
        for text in [
            "drawer,part,counted,counted_at,by\r\n14,collet-2.4,3,,\r\n",
            "\u{feff}drawer;part;counted;counted_at;by\n14;collet-2.4;3;;\n;;;;\n",
            "drawer,part,counted,counted_at,by\n14,\"collet-2.4\",'3\n",
        ] {
            let file = File::parse(text).expect("it is read");
            assert_eq!((file.rows.len(), file.rows[0].line), (1, 2), "{text}");
            assert_eq!(file.rows[0].cell("part"), Some("collet-2.4"));
            assert_eq!(file.rows[0].cell("by"), None);
        }
        let file = File::parse(&format!("{HEADER}\n14,collet-2.4,'-1\n")).expect("it is read");
        assert_eq!(file.rows[0].cell("counted"), Some("-1"));
    }

    #[test]
    fn a_file_that_cannot_be_taken_as_a_whole_says_why() {
        for (text, words) in [
            (HEADER.to_owned(), "no rows"),
            (
                "drawer,part\n14,x\n".to_owned(),
                "Its first line is: drawer,part",
            ),
            (
                format!("{HEADER}\n14,collet,3,,,,\n"),
                "line 2 has 7 values",
            ),
            (String::new(), "neither"),
        ] {
            let why = File::parse(&text).expect_err("it is refused");
            assert!(why.contains(words), "{text}: {why}");
        }
    }

    #[test]
    fn an_id_follows_from_what_a_row_says_and_where_it_stands() {
        let text = format!("{HEADER}\n14,collet-2.4,3,,\n14,collet-2.4,3,,\n14,collet-2.4,4,,\n");
        let ids = |text: &str| -> Vec<String> {
            let file = File::parse(text).expect("it is read");
            file.rows
                .iter()
                .map(|row| row.id(&["part", "counted"]))
                .collect()
        };
        let first = ids(&text);
        assert_eq!(first, ids(&text), "the same file has the same ids");
        assert_ne!(first[0], first[1]);
        assert_ne!(first[1].get(..20), first[2].get(..20));
        // The reference values of the hash: of nothing, and of one letter.
        assert_eq!(fnv(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv("a"), 0xaf63_dc4c_8601_ec8c);
    }
}
