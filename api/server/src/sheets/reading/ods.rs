//! The first table of a spreadsheet of `OpenDocument` that has rows, cell by cell. A cell, a row or a blank that is
//! repeated stands there once with a number, which may be made so large that no memory would hold what comes of it:
//! so what is blank is passed over, and the rest is kept only up to the limits of every sheet.

use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

use super::archive::{content, damaged};
use super::{CELL_MAX, FILL_IN, ROWS_MAX, Row, Rows, Unread, place, too_long};

pub(super) fn read(bytes: &[u8]) -> Result<Vec<Row>, Unread> {
    let content = content(bytes)?;
    let mut reader = Reader::from_str(&content);
    reader.config_mut().expand_empty_elements = true;
    let mut table = Table {
        only_to_fill_in: content.contains(&format!("table:name=\"{FILL_IN}\"")),
        ..Table::default()
    };
    loop {
        match reader.read_event().map_err(|error| damaged(&error))? {
            Event::Start(tag) => table.opens(&tag)?,
            Event::End(tag) => {
                table.closes(tag.name().as_ref())?;
                if table.is_over {
                    return Ok(table.rows.into_rows());
                }
            }
            Event::Text(text) => table.says(&text.xml10_content()),
            Event::CData(text) => table.says(&text.xml10_content()),
            Event::GeneralRef(named) => table.says(&meant(&named)?),
            Event::Eof => return Err(damaged("its content has no end")),
            Event::Empty(_)
            | Event::Comment(_)
            | Event::Decl(_)
            | Event::PI(_)
            | Event::DocType(_) => {}
        }
    }
}

/// What is read of a table.
#[derive(Debug, Default)]
struct Table {
    rows: Rows,
    /// Whether a table is there to fill in, so that no other is read.
    only_to_fill_in: bool,
    /// The line of the row that is read, from 1.
    line: u64,
    /// How often that row stands there.
    down: u64,
    row: Row,
    /// The column of the next cell, from 0.
    column: usize,
    cell: Option<Cell>,
    /// How deep it is in what belongs to a cell and is no text of it, such as a comment.
    aside: usize,
    /// Whether all is read that is wanted.
    is_over: bool,
}

/// What is read of a cell.
#[derive(Debug)]
struct Cell {
    /// How often it stands there, to the right.
    across: u64,
    /// Its value, if that is not its text.
    value: Option<String>,
    text: String,
    has_paragraph: bool,
}

impl Table {
    fn opens(&mut self, tag: &BytesStart<'_>) -> Result<(), Unread> {
        if self.aside > 0 {
            self.aside += 1;
            return Ok(());
        }
        let name = tag.name();
        if let Some(cell) = &mut self.cell {
            return cell.opens(tag, &mut self.aside);
        }
        match name.as_ref() {
            "table:table" if self.only_to_fill_in && !is_to_fill_in(tag)? => self.aside = 1,
            "table:table" => self.line = 1,
            "table:table-row" => {
                self.down = repeated(tag, "table:number-rows-repeated")?;
                self.row.line = self.line;
                self.column = 0;
            }
            "table:table-cell" | "table:covered-table-cell" => self.cell = Some(Cell::of(tag)?),
            _ => {}
        }
        Ok(())
    }

    fn closes(&mut self, name: &str) -> Result<(), Unread> {
        if self.aside > 0 {
            self.aside -= 1;
            return Ok(());
        }
        match name {
            "table:table-cell" | "table:covered-table-cell" => self.put()?,
            "table:table-row" => self.keep()?,
            // The first table that has rows is the sheet.
            "table:table" => self.is_over = !self.rows.is_empty(),
            // Another table may come, or not.
            "office:document-content" => self.is_over = true,
            _ => {}
        }
        Ok(())
    }

    fn says(&mut self, text: &str) {
        if let Some(cell) = self.cell.as_mut().filter(|_| self.aside == 0) {
            cell.says(text);
        }
    }

    /// Puts the cell that ends into its row, as often as it stands there.
    fn put(&mut self) -> Result<(), Unread> {
        let Some(Cell {
            across,
            value,
            text,
            ..
        }) = self.cell.take()
        else {
            return Ok(());
        };
        let text = value.unwrap_or(text);
        let across = usize::try_from(across).unwrap_or(usize::MAX);
        let until = self.column.saturating_add(across);
        if !text.is_empty() {
            for column in self.column..until {
                place(&mut self.row, column, &text)?;
            }
        }
        self.column = until;
        Ok(())
    }

    /// Keeps the row that ends, as often as it stands there.
    fn keep(&mut self) -> Result<(), Unread> {
        let row = std::mem::take(&mut self.row);
        let next = self.line.saturating_add(self.down);
        if !row.cells.is_empty() {
            if usize::try_from(self.down).map_or(true, |down| down > ROWS_MAX) {
                return Err(too_long());
            }
            for line in self.line..next {
                let cells = row.cells.clone();
                self.rows.keep(Row { line, cells })?;
            }
        }
        self.line = next;
        Ok(())
    }
}

impl Cell {
    fn of(tag: &BytesStart<'_>) -> Result<Self, Unread> {
        Ok(Self {
            across: repeated(tag, "table:number-columns-repeated")?,
            value: value(tag)?,
            text: String::new(),
            has_paragraph: false,
        })
    }

    /// What stands in a cell: paragraphs of text, and things aside.
    fn opens(&mut self, tag: &BytesStart<'_>, aside: &mut usize) -> Result<(), Unread> {
        match tag.name().as_ref() {
            "text:p" => {
                if self.has_paragraph {
                    self.says("\n");
                }
                self.has_paragraph = true;
            }
            "text:s" => {
                let blanks = usize::try_from(repeated(tag, "text:c")?).unwrap_or(usize::MAX);
                self.says(&" ".repeat(blanks.min(CELL_MAX + 1)));
            }
            "text:tab" => self.says("\t"),
            "text:line-break" => self.says("\n"),
            name if name.starts_with("text:") => {}
            _ => *aside += 1,
        }
        Ok(())
    }

    /// Adds to the text. What is beyond the most that a cell may have is enough to refuse it.
    fn says(&mut self, text: &str) {
        if self.text.len() <= CELL_MAX {
            self.text.push_str(text);
        }
    }
}

/// The value of a cell as it would be written in a text, if its attributes tell it. A formula is its value.
fn value(tag: &BytesStart<'_>) -> Result<Option<String>, Unread> {
    let kind = attribute(tag, "office:value-type")?;
    let name = match kind.as_deref() {
        Some("float" | "currency" | "percentage") => "office:value",
        Some("date") => "office:date-value",
        Some("time") => "office:time-value",
        Some("boolean") => "office:boolean-value",
        _ => "office:string-value",
    };
    let Some(told) = attribute(tag, name)?.filter(|told| !told.is_empty()) else {
        return Ok(None);
    };
    Ok(Some(match name {
        "office:value" => told.parse().map_or(told, |number: f64| number.to_string()),
        "office:date-value" => told
            .strip_suffix("T00:00:00")
            .map_or_else(|| told.replacen('T', " ", 1), str::to_owned),
        _ => told,
    }))
}

fn attribute(tag: &BytesStart<'_>, name: &str) -> Result<Option<String>, Unread> {
    let found = tag
        .try_get_attribute(name)
        .map_err(|error| damaged(&error))?;
    let Some(found) = found else { return Ok(None) };
    let told = found.normalized_value(XmlVersion::Implicit1_0);
    let told = told.map_err(|error| damaged(&error))?;
    Ok(Some(told.into_owned()))
}

/// A number of times, which is 1 unless it is told. One that is too large to be read is larger than any limit.
fn repeated(tag: &BytesStart<'_>, name: &str) -> Result<u64, Unread> {
    let Some(told) = attribute(tag, name)? else {
        return Ok(1);
    };
    if told.is_empty() || !told.bytes().all(|letter| letter.is_ascii_digit()) {
        return Err(damaged(&format!("{name} is \"{told}\"")));
    }
    Ok(told.parse().unwrap_or(u64::MAX))
}

/// Whether a table is the one to fill in.
fn is_to_fill_in(tag: &BytesStart<'_>) -> Result<bool, Unread> {
    let name = attribute(tag, "table:name")?;
    Ok(name.is_some_and(|name| name == FILL_IN))
}

/// The text that is meant by `&amp;` or `&#38;`.
fn meant(named: &BytesRef<'_>) -> Result<String, Unread> {
    let letter = named.resolve_char_ref().map_err(|error| damaged(&error))?;
    if let Some(letter) = letter {
        return Ok(letter.to_string());
    }
    let known = resolve_predefined_entity(named);
    known
        .map(str::to_owned)
        .ok_or_else(|| damaged("it names a text that is nowhere told"))
}
