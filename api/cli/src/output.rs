//! Everything that is printed: answers on the standard output, everything else on the standard
//! error. Nothing else in this crate prints.

use std::io::{self, Write};

use client::Error;
use comfy_table::{CellAlignment, Table, TableComponent, presets};
use serde::Serialize;
use types::{Problem, ProblemKind, Violation};

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet};

/// How an answer is printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Format {
    // A table and sentences. (The option itself explains all three; its help stays short so.)
    #[default]
    Table,
    // The answer of the API.
    Json,
    // Comma-separated values with a header row (RFC 4180).
    Csv,
}

/// The two streams and the format.
pub(crate) struct Output<'a> {
    out: &'a mut dyn Write,
    err: &'a mut dyn Write,
    format: Format,
    /// The first error of writing; what comes after it is not written.
    broken: Option<io::Error>,
}

impl<'a> Output<'a> {
    pub(crate) fn new(out: &'a mut dyn Write, err: &'a mut dyn Write, format: Format) -> Self {
        Self {
            out,
            err,
            format,
            broken: None,
        }
    }

    /// Prints an answer: as a sheet, or as the API gave it.
    pub(crate) fn show(&mut self, answer: &impl Serialize, sheet: &Sheet) {
        match self.format {
            Format::Table => self.write(table(sheet)),
            Format::Json => self.json(answer),
            Format::Csv => match csv(sheet) {
                Ok(text) => self.write(&text),
                Err(error) => self.broken = Some(error),
            },
        }
    }

    /// Prints an answer that is one sentence to people: JSON gets the answer, CSV the sheet.
    pub(crate) fn show_said(&mut self, answer: &impl Serialize, says: &str, sheet: &Sheet) {
        match self.format {
            Format::Table => self.write(format!("{says}\n")),
            Format::Json | Format::Csv => self.show(answer, sheet),
        }
    }

    /// Prints an answer that is told to people in other words: only for other programs.
    pub(crate) fn show_data(&mut self, answer: &impl Serialize, sheet: &Sheet) {
        if self.format != Format::Table {
            self.show(answer, sheet);
        }
    }

    /// Prints a sheet that is for people only.
    pub(crate) fn show_table(&mut self, sheet: &Sheet) {
        if self.format == Format::Table {
            self.write(table(sheet));
        }
    }

    /// Prints a sentence that belongs to an answer. JSON has it in the answer, and CSV has no place
    /// for it, so there it goes to the standard error.
    pub(crate) fn say(&mut self, sentence: &str) {
        match self.format {
            Format::Table => self.write(format!("{sentence}\n")),
            Format::Json => {}
            Format::Csv => self.note(sentence),
        }
    }

    /// Prints text as the service made it, whatever the format: a sheet in CSV.
    pub(crate) fn raw(&mut self, text: &[u8]) {
        self.write(String::from_utf8_lossy(text).into_owned());
    }

    /// Prints an empty line between two parts of an answer to people.
    pub(crate) fn gap(&mut self) {
        if self.format == Format::Table {
            self.write("\n");
        }
    }

    /// Prints on the standard error what is in the answer to people and programs and has no place in
    /// CSV.
    pub(crate) fn beside_csv(&mut self, line: &str) {
        if self.format == Format::Csv {
            self.note(line);
        }
    }

    /// Prints a caution. JSON has it in the answer.
    pub(crate) fn caution(&mut self, caution: &str) {
        if self.format != Format::Json {
            self.note(caution);
        }
    }

    /// Prints a line on the standard error.
    pub(crate) fn note(&mut self, line: &str) {
        // Where even that cannot be written, nobody is left to be told.
        writeln!(self.err, "{line}").ok();
    }

    /// Asks a person, who answers on the same line.
    pub(crate) fn ask(&mut self, question: &str) {
        write!(self.err, "{question} ")
            .and_then(|()| self.err.flush())
            .ok();
    }

    /// Tells why a command could not do its work.
    pub(crate) fn failure(&mut self, failure: &Failure) {
        match failure {
            Failure::Service(Error::Problem(problem)) => self.problem(problem),
            Failure::Invalid(violations) => {
                self.note(&format!("tigstock: {failure}"));
                self.violations(violations);
            }
            Failure::CommandLine(_)
            | Failure::Service(_)
            | Failure::Profile(_)
            | Failure::State { .. }
            | Failure::File { .. }
            | Failure::NotWritten { .. }
            | Failure::Sheet { .. }
            | Failure::Print(_)
            | Failure::System { .. } => self.note(&format!("tigstock: {}", chain(failure))),
        }
    }

    fn problem(&mut self, problem: &Problem) {
        // The violations say more than the detail, which only strings them together.
        if problem.violations.is_empty() {
            self.note(&format!("tigstock: {}: {}", problem.title, problem.detail));
        } else {
            self.note(&format!("tigstock: {}", problem.title));
        }
        self.violations(&problem.violations);
        if problem.slug() == ProblemKind::Internal.slug() {
            self.note(&format!(
                "  Quote this when you report it: {}",
                problem.instance
            ));
        }
    }

    fn violations(&mut self, violations: &[Violation]) {
        for violation in violations {
            let field = violation.pointer.trim_start_matches(['/', '?']);
            self.note(&format!("  {field}: {}", violation.detail));
        }
    }

    /// The exit code at the end: `code`, unless the answer could not be printed.
    pub(crate) fn finish(mut self, code: u8) -> u8 {
        if self.broken.is_none() {
            self.broken = self.out.flush().err();
        }
        match self.broken.take() {
            None => code,
            // Whoever read the answer, such as a pager, has seen enough.
            Some(error) if error.kind() == io::ErrorKind::BrokenPipe => code,
            Some(error) => {
                let failure = Failure::Print(error);
                self.failure(&failure);
                failure.exit_code()
            }
        }
    }

    fn json(&mut self, answer: &impl Serialize) {
        match serde_json::to_string_pretty(answer) {
            Ok(text) => self.write(format!("{text}\n")),
            Err(error) => self.broken = Some(error.into()),
        }
    }

    fn write(&mut self, text: impl AsRef<[u8]>) {
        if self.broken.is_none() {
            self.broken = self.out.write_all(text.as_ref()).err();
        }
    }
}

/// Prints help, or what is wrong with a command line.
pub(crate) fn tell_usage(out: &mut dyn Write, err: &mut dyn Write, told: &clap::Error) -> u8 {
    if told.use_stderr() {
        write!(err, "{told}").ok();
        exit::USAGE
    } else {
        write!(out, "{told}").ok();
        exit::DONE
    }
}

/// An error and its first cause. What lies between the two only repeats them.
fn chain(error: &dyn std::error::Error) -> String {
    let mut first = error;
    while let Some(cause) = first.source() {
        first = cause;
    }
    let (text, cause) = (error.to_string(), first.to_string());
    if text == cause {
        text
    } else {
        format!("{text}: {cause}")
    }
}

fn table(sheet: &Sheet) -> String {
    let shown: Vec<usize> = (0..sheet.columns.len())
        .filter(|&index| sheet.columns[index].heading.is_some())
        .collect();
    let mut table = Table::new();
    table.load_preset(presets::NOTHING);
    table.set_style(TableComponent::HeaderLines, '-');
    table.set_style(TableComponent::MiddleHeaderIntersections, '-');
    table.set_header(
        shown
            .iter()
            .filter_map(|&index| sheet.columns[index].heading.as_deref()),
    );
    for row in &sheet.rows {
        table.add_row(shown.iter().map(|&index| {
            let cell = comfy_table::Cell::new(words(&row[index]));
            match row[index] {
                Cell::Whole(_) | Cell::Real { .. } => cell.set_alignment(CellAlignment::Right),
                Cell::Text(_) | Cell::Shown { .. } | Cell::Nothing => cell,
            }
        }));
    }
    for column in table.column_iter_mut() {
        column.set_padding((0, 1));
    }
    format!("{}\n", table.trim_fmt())
}

/// A cell as people read it.
fn words(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => text.clone(),
        Cell::Whole(number) => number.to_string(),
        Cell::Real { shown, .. } | Cell::Shown { shown, .. } => shown.clone(),
        Cell::Nothing => "-".to_owned(),
    }
}

/// A cell as another program reads it.
fn value(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) | Cell::Shown { value: text, .. } => harmless(text),
        Cell::Whole(number) => number.to_string(),
        Cell::Real { value, .. } => value.to_string(),
        Cell::Nothing => String::new(),
    }
}

/// Text that a spreadsheet would run as a formula gets an apostrophe in front of it, which makes it
/// text there.
fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

fn csv(sheet: &Sheet) -> io::Result<Vec<u8>> {
    // RFC 4180 ends a line with both characters.
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(sheet.columns.iter().map(|column| &*column.name))?;
    for row in &sheet.rows {
        writer.write_record(row.iter().map(value))?;
    }
    writer.into_inner().map_err(csv::IntoInnerError::into_error)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(format: Format, print: impl FnOnce(&mut Output<'_>)) -> (String, String) {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut output = Output::new(&mut out, &mut err, format);
        print(&mut output);
        assert_eq!(output.finish(exit::DONE), exit::DONE);
        let text = |bytes| String::from_utf8(bytes).expect("it is text");
        (text(out), text(err))
    }

    fn sheet(note: &str) -> Sheet {
        let mut sheet = Sheet::new([("part", "Part"), ("on_hand", "On hand"), ("note", "")]);
        sheet.push(["collet-2.4".into(), Cell::Whole(-2), note.into()]);
        sheet
    }

    #[test]
    fn csv_escapes_text_that_a_spreadsheet_would_run() {
        for note in ["=1+1", "+1", "-1", "@now", "\tx"] {
            let (out, _) = printed(Format::Csv, |output| output.show(&(), &sheet(note)));
            assert_eq!(
                out,
                format!("part,on_hand,note\r\ncollet-2.4,-2,'{note}\r\n")
            );
        }
    }

    #[test]
    fn csv_quotes_text_that_holds_a_comma_or_a_quote() {
        let (out, _) = printed(Format::Csv, |output| {
            output.show(&(), &sheet("3/32\", new"));
        });
        assert_eq!(
            out,
            "part,on_hand,note\r\ncollet-2.4,-2,\"3/32\"\", new\"\r\n"
        );
    }

    #[test]
    fn a_table_shows_the_columns_with_a_heading_and_aligns_numbers() {
        let (out, _) = printed(Format::Table, |output| output.show(&(), &sheet("hidden")));
        let lines: Vec<&str> = out.lines().map(str::trim_end).collect();
        assert_eq!(lines[0], "Part        On hand");
        assert_eq!(lines[2], "collet-2.4       -2");
        assert_eq!(lines.len(), 3);
    }

    #[test]
    fn a_sentence_never_gets_between_the_rows_of_a_sheet() {
        let (out, err) = printed(Format::Csv, |output| output.say("One to order."));
        assert_eq!((&*out, &*err), ("", "One to order.\n"));
        let (out, err) = printed(Format::Table, |output| output.say("One to order."));
        assert_eq!((&*out, &*err), ("One to order.\n", ""));
        let (out, err) = printed(Format::Json, |output| output.say("One to order."));
        assert_eq!((&*out, &*err), ("", ""));
    }

    #[test]
    fn a_problem_is_told_with_each_field_at_fault() {
        let kind = ProblemKind::Invalid;
        let problem = Problem {
            kind: kind.uri(),
            title: kind.title().to_owned(),
            status: kind.status(),
            detail: "2 fields".to_owned(),
            instance: "urn:uuid:0".to_owned(),
            violations: vec![
                Violation::new("/diameter", "no"),
                Violation::new("?now", "never"),
            ],
        };
        let failure = Failure::Service(Error::Problem(Box::new(problem)));
        let (out, err) = printed(Format::Table, |output| output.failure(&failure));
        assert_eq!(out, "");
        let title = kind.title();
        assert_eq!(
            err,
            format!("tigstock: {title}\n  diameter: no\n  now: never\n")
        );
    }

    #[test]
    fn an_answer_that_cannot_be_printed_changes_the_exit_code() {
        let mut full: &mut [u8] = &mut [];
        let mut err = Vec::new();
        let mut output = Output::new(&mut full, &mut err, Format::Table);
        output.say("One to order.");
        assert_eq!(output.finish(exit::TO_ORDER), exit::LOCAL);
        assert!(!err.is_empty());
    }
}
