//! A sheet that comes in: text or a workbook, whatever program wrote it, as rows under named columns. What cannot be
//! taken as a whole is refused with what to do; what the cells mean is for whoever asked.

use types::SheetForm;

mod archive;
mod header;
mod ods;
mod text;
mod xlsx;

/// The most rows of one sheet, without those that are blank.
pub const ROWS_MAX: usize = 200_000;
/// The most columns of one sheet.
pub const COLUMNS_MAX: usize = 256;
/// The most bytes of a cell.
const CELL_MAX: usize = 32_768;
/// The most bytes of a text.
pub const TEXT_MAX: usize = 64 << 20;
/// The most bytes of a workbook.
pub const WORKBOOK_MAX: usize = 8 << 20;
/// The most bytes of a workbook once it is unpacked.
const UNPACKED_MAX: u64 = 128 << 20;
/// The most bytes that the cells of a sheet take once they are read.
const KEPT_MAX: usize = 192 << 20;
/// What an allocator takes for itself, about, and the least that it gives.
const ALLOCATED: usize = 16;

/// The sheet of a workbook that is read if there is one of this name, wherever it stands; else the first with rows.
pub const FILL_IN: &str = "fill-in";

/// Why a file cannot be taken as a whole, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unread {
    /// It is in no form that is read here.
    Form(String),
    /// It is too large, or would be.
    TooLarge(String),
    /// It is damaged, protected, or not the sheet that was asked for.
    Invalid(String),
}

/// What is told of a file beside its bytes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Told<'t> {
    /// Its media type.
    pub media_type: &'t str,
    /// Its name.
    pub name: Option<&'t str>,
}

/// A sheet that was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// The form that the file has.
    pub form: SheetForm,
    /// The names of its columns, as they stand there.
    pub columns: Vec<String>,
    /// The line on which these stand.
    pub header: u64,
    /// Its rows, without those that are blank.
    pub rows: Vec<Row>,
    /// Whether semicolons part its values, which spreadsheets do where decimals have commas.
    pub has_semicolons: bool,
}

/// A row that has something in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// Its line in the sheet, from 1.
    pub line: u64,
    /// Its cells, in the order of the columns; those at the end may be missing.
    pub cells: Vec<String>,
}

impl Table {
    /// The place of a column, whatever its case.
    pub fn column(&self, name: &str) -> Option<usize> {
        let is = |column: &String| column.eq_ignore_ascii_case(name);
        self.columns.iter().position(is)
    }

    /// Of a part of a long file: tells the lines of the whole, on one of which the first row below the header stands.
    #[must_use]
    pub fn from_line(mut self, first: u64) -> Self {
        for row in &mut self.rows {
            row.line = first.saturating_add(row.line.saturating_sub(self.header + 1));
        }
        self
    }
}

/// What a form gives before its columns are known.
struct Found {
    form: SheetForm,
    rows: Vec<Row>,
    has_semicolons: bool,
}

/// Reads a sheet that has to have some columns.
///
/// # Errors
/// The file cannot be taken as a whole.
pub fn read(bytes: &[u8], told: Told<'_>, must: &[&str]) -> Result<Table, Unread> {
    header::under(found(bytes, told)?, must)
}

/// Reads a sheet whose columns have names of somebody's own; `is_header` knows the row in which they stand.
///
/// # Errors
/// The file cannot be taken as a whole; `missing` says what no row has.
pub fn read_named(
    bytes: &[u8],
    told: Told<'_>,
    (is_header, missing): (impl Fn(&[String]) -> bool, &str),
) -> Result<Table, Unread> {
    let found = found(bytes, told)?;
    let top = found.rows.iter().take(header::LOOK_AT);
    let names = top.map(|row| &row.cells).find(|cells| is_header(cells));
    let names = names
        .cloned()
        .ok_or_else(|| Unread::Invalid(missing.to_owned()))?;
    let must: Vec<&str> = names
        .iter()
        .map(String::as_str)
        .filter(|it| !it.is_empty())
        .collect();
    header::under(found, &must)
}

/// Reads a sheet that has the columns of one of several tables, and says of which: the first whose columns all stand
/// in one row, else the one that comes nearest.
///
/// # Errors
/// The file cannot be taken as a whole.
pub fn read_one_of(
    bytes: &[u8],
    told: Told<'_>,
    tables: &[&[&str]],
) -> Result<(usize, Table), Unread> {
    let found = found(bytes, told)?;
    let which = header::which(&found, tables)?;
    let must = tables.get(which).copied().unwrap_or_default();
    Ok((which, header::under(found, must)?))
}

fn found(bytes: &[u8], told: Told<'_>) -> Result<Found, Unread> {
    let form = form_of(bytes, told)?;
    Ok(match form {
        SheetForm::Csv => text::read(bytes)?,
        SheetForm::Xlsx => Found {
            form,
            rows: xlsx::read(bytes)?,
            has_semicolons: false,
        },
        SheetForm::Ods => Found {
            form,
            rows: ods::read(bytes)?,
            has_semicolons: false,
        },
    })
}

/// The form of a file: by its first bytes, since a name and a media type may be wrong.
fn form_of(bytes: &[u8], told: Told<'_>) -> Result<SheetForm, Unread> {
    let said = said(told);
    if bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        let why = "the file is protected by a password, or in a form of before 2007; save it as .xlsx, .ods or .csv \
                   without a password";
        return Err(Unread::Invalid(why.to_owned()));
    }
    if bytes.starts_with(b"%PDF") {
        let why =
            "the file is a PDF, in which there are no cells; save the sheet as .xlsx, .ods or .csv";
        return Err(Unread::Form(why.to_owned()));
    }
    if bytes.starts_with(b"PK") {
        return archive::form_of(bytes);
    }
    match said {
        Some(form @ (SheetForm::Xlsx | SheetForm::Ods)) => Err(Unread::Invalid(format!(
            "the file is called .{0}, but there is no workbook in it: it is cut short or something else; save it anew \
             as .{0}, or as .csv",
            form.extension()
        ))),
        Some(SheetForm::Csv) => Ok(SheetForm::Csv),
        None => Err(Unread::Form(
            "send the sheet as CSV (Content-Type: text/csv), XLSX or ODS, or tell its name with ?name=".to_owned(),
        )),
    }
}

/// The form that a file is said to have.
fn said(told: Told<'_>) -> Option<SheetForm> {
    let ending = told.name.and_then(|name| name.rsplit_once('.'));
    let by_name = ending.and_then(|(_, ending)| match &*ending.to_ascii_lowercase() {
        "csv" | "tsv" | "txt" => Some(SheetForm::Csv),
        "xlsx" | "xlsm" => Some(SheetForm::Xlsx),
        "ods" => Some(SheetForm::Ods),
        _ => None,
    });
    let kind = told.media_type.split(';').next().unwrap_or_default().trim();
    // That of CSV has parameters.
    let plain = |form: &SheetForm| form.media_type().split(';').next().unwrap_or_default();
    let is = |form: &SheetForm| kind.eq_ignore_ascii_case(plain(form));
    let by_kind = SheetForm::ALL.into_iter().find(is);
    let is_text =
        ["text/plain", "text/tab-separated-values"].contains(&&*kind.to_ascii_lowercase());
    by_name.or(by_kind).or(is_text.then_some(SheetForm::Csv))
}

/// A cell without blanks around it, and without the apostrophe that keeps a spreadsheet from running it.
fn plain(cell: &str) -> String {
    let cell = cell.trim();
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@']) => rest.to_owned(),
        _ => cell.to_owned(),
    }
}

/// Puts a cell into its place of a row.
fn place(row: &mut Row, column: usize, cell: &str) -> Result<(), Unread> {
    if column >= COLUMNS_MAX {
        return Err(too_wide(row.line));
    }
    if cell.len() > CELL_MAX {
        let line = row.line;
        return Err(Unread::TooLarge(format!(
            "line {line} has a cell of {} bytes; a cell may have {CELL_MAX}",
            cell.len()
        )));
    }
    let cell = plain(cell);
    if cell.is_empty() {
        return Ok(());
    }
    if row.cells.len() <= column {
        row.cells.resize(column + 1, String::new());
    }
    row.cells[column] = cell;
    Ok(())
}

/// The sheets of a workbook in the order in which they are looked at.
fn looked_at(mut names: Vec<String>) -> Vec<String> {
    names.sort_by_key(|name| !name.eq_ignore_ascii_case(FILL_IN));
    names
}

fn too_wide(line: u64) -> Unread {
    Unread::TooLarge(format!(
        "line {line} has more than {COLUMNS_MAX} columns; take out those that the sheet does not need"
    ))
}

/// Rows that are kept, and how much memory they take: a file may name one long text for millions of cells.
#[derive(Debug, Default)]
struct Rows {
    rows: Vec<Row>,
    bytes: usize,
}

impl Rows {
    /// Keeps a row unless it is blank.
    fn keep(&mut self, row: Row) -> Result<(), Unread> {
        if row.cells.is_empty() {
            return Ok(());
        }
        if self.rows.len() > ROWS_MAX + header::LOOK_AT {
            return Err(too_long());
        }
        // What holds a text takes a few words beside it, and no fewer than a few.
        let of = |cell: &String| match cell.len() {
            0 => size_of::<String>(),
            length => size_of::<String>() + length.max(ALLOCATED) + ALLOCATED,
        };
        self.bytes += size_of::<Row>() + row.cells.iter().map(of).sum::<usize>();
        if self.bytes > KEPT_MAX {
            return Err(Unread::TooLarge(format!(
                "up to line {} its cells take over {KEPT_MAX} bytes; cut it into several sheets, or take out columns \
                 that the sheet does not need",
                row.line
            )));
        }
        self.rows.push(row);
        Ok(())
    }

    fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    fn into_rows(self) -> Vec<Row> {
        self.rows
    }
}

fn too_long() -> Unread {
    Unread::TooLarge(format!(
        "there are more than {ROWS_MAX} rows; cut it into several sheets"
    ))
}

#[cfg(test)]
mod tests;
