//! Sheets as an `OpenDocument` spreadsheet (ISO/IEC 26300). A formula is written with its value, for readers that do
//! not recalculate.

use domain::quantity::Money;
use rust_xlsxwriter::utility::column_number_to_name;
use spreadsheet_ods::{
    CellStyle, CellStyleRef, Length, OdsError, Sheet, ValueFormatDateTime, ValueFormatNumber,
    WorkBook, defaultstyles::DefaultFormat, write_ods_buf,
};

use super::returned::Returned;
use super::{Cell, Plain, main_unit, returned};

/// How wide a character is taken to be, in centimetres.
const CHARACTER: f64 = 0.22;

/// How cells look.
struct Styles {
    heading: CellStyleRef,
    instant: CellStyleRef,
    day: CellStyleRef,
    /// By the decimals of the currency.
    money: [CellStyleRef; 5],
}

impl Styles {
    fn of(book: &mut WorkBook) -> Self {
        let mut heading = CellStyle::new("heading", &DefaultFormat::default());
        heading.set_font_bold();
        // Numbers of the workbook are shown as they are; the library's own format has two decimals.
        book.add_number_format(number(DefaultFormat::number(), None));
        let instant = book.add_datetime_format(instants("instant-format"));
        let instant = CellStyle::new("instant", &instant);
        let day = CellStyle::new("day", &DefaultFormat::date());
        Self {
            heading: book.add_cellstyle(heading),
            instant: book.add_cellstyle(instant),
            day: book.add_cellstyle(day),
            money: [0, 1, 2, 3, 4].map(|digits| {
                let format = number(format!("money-format-{digits}"), Some(digits));
                let format = book.add_number_format(format);
                book.add_cellstyle(CellStyle::new(format!("money-{digits}"), &format))
            }),
        }
    }

    /// How an amount looks: with as many decimals as its currency has.
    fn of_money(&self, money: Money) -> &CellStyleRef {
        let digits = usize::try_from(money.currency().minor_digits()).unwrap_or(0);
        &self.money[digits.min(self.money.len() - 1)]
    }
}

/// A number with so many decimals, or as many as it needs.
fn number(name: impl AsRef<str>, decimals: Option<u8>) -> ValueFormatNumber {
    let mut format = ValueFormatNumber::new_named(name);
    let part = format.part_number().min_integer_digits(1);
    match decimals {
        Some(decimals) => part.fixed_decimal_places(decimals).build(),
        None => part.build(),
    }
    format
}

/// An instant with its day, as 2026-06-15 08:00:00.
fn instants(name: &str) -> ValueFormatDateTime {
    let mut format = ValueFormatDateTime::new_named(name);
    format.part_year().long_style().build();
    format.part_text("-").build();
    format.part_month().long_style().build();
    format.part_text("-").build();
    format.part_day().long_style().build();
    format.part_text(" ").build();
    format.part_hours().long_style().build();
    format.part_text(":").build();
    format.part_minutes().long_style().build();
    format.part_text(":").build();
    format.part_seconds().long_style().build();
    format
}

/// The workbook: the sheet, and one that tells what it is.
pub(super) fn write(sheet: &Plain<'_>) -> Result<Vec<u8>, OdsError> {
    let mut book = WorkBook::default();
    let styles = Styles::of(&mut book);
    book.push_sheet(rows(sheet, &styles));
    book.push_sheet(about(sheet, &styles));
    write_ods_buf(&mut book, Vec::new())
}

/// The workbook of a sheet that comes back, whose sum stands above the names of the columns.
pub(super) fn returned(sheet: &Returned<'_>) -> Result<Vec<u8>, OdsError> {
    let mut book = WorkBook::default();
    let styles = Styles::of(&mut book);
    let mut to = Sheet::new(sheet.title);
    to.set_value(0, 0, sheet.says);
    for (column, name) in (0_u32..).zip(returned::names(sheet)) {
        to.set_styled_value(1, column, name, &styles.heading);
        let place = usize::try_from(column).unwrap_or(usize::MAX);
        let cells = returned::rows(sheet).filter_map(|mut row| row.nth(place));
        to.set_col_width(column, centimetres(returned::width(cells.chain([name]))));
    }
    for (row, cells) in (2_u32..).zip(returned::rows(sheet)) {
        for (column, cell) in (0_u32..).zip(cells) {
            match returned::cell(cell) {
                Cell::Real(number) => to.set_value(row, column, number),
                Cell::Text(text) => to.set_value(row, column, text),
                Cell::Whole(_)
                | Cell::Money(_)
                | Cell::Product(..)
                | Cell::Day(_)
                | Cell::Instant(_)
                | Cell::Nothing => {}
            }
        }
    }
    to.split_row_header(1);
    book.push_sheet(to);
    write_ods_buf(&mut book, Vec::new())
}

fn rows(sheet: &Plain<'_>, styles: &Styles) -> Sheet {
    let mut to = Sheet::new(sheet.title);
    let as_of = Cell::Instant(sheet.as_of.fixed_offset());
    for (column, name) in (0_u32..).zip(sheet.names()) {
        to.set_styled_value(0, column, name, &styles.heading);
        let place = usize::try_from(column).unwrap_or(usize::MAX);
        to.set_col_width(column, centimetres(sheet.width(place, name)));
    }
    to.set_col_width(last(sheet.columns.len()), centimetres(20));
    for (row, cells) in (1_u32..).zip(&sheet.rows) {
        for (column, cell) in (0_u32..).zip(cells.iter().chain([&as_of])) {
            put(&mut to, (row, column), cell, styles);
        }
    }
    totals(&mut to, sheet, styles);
    to.set_header_rows(0, 0);
    to.split_row_header(0);
    to
}

fn put(to: &mut Sheet, (row, column): (u32, u32), cell: &Cell, styles: &Styles) {
    match cell {
        Cell::Text(text) => to.set_value(row, column, text),
        Cell::Whole(number) => to.set_value(row, column, *number),
        Cell::Real(number) => to.set_value(row, column, *number),
        Cell::Money(money) => {
            to.set_styled_value(row, column, main_unit(*money), styles.of_money(*money));
        }
        Cell::Product([one, other], money) => {
            let name = |column: u16| format!("[.{}{}]", column_number_to_name(column), row + 1);
            to.set_styled_value(row, column, main_unit(*money), styles.of_money(*money));
            to.set_formula(row, column, format!("of:={}*{}", name(*one), name(*other)));
        }
        Cell::Day(day) => to.set_styled_value(row, column, *day, &styles.day),
        Cell::Instant(instant) => {
            let local = instant.naive_local();
            to.set_styled_value(row, column, local, &styles.instant);
        }
        Cell::Nothing => {}
    }
}

/// The sums, below the rows.
fn totals(to: &mut Sheet, sheet: &Plain<'_>, styles: &Styles) {
    let row = last(sheet.rows.len()) + 1;
    for column in sheet.totals {
        let name = column_number_to_name(*column);
        to.set_styled_value(
            row,
            u32::from(*column),
            sheet.total(*column),
            &styles.heading,
        );
        let formula = format!("of:=SUM([.{name}2:.{name}{row}])");
        to.set_formula(row, u32::from(*column), formula);
    }
    if !sheet.totals.is_empty() && !sheet.totals.contains(&0) {
        to.set_styled_value(row, 0, "total", &styles.heading);
    }
}

fn about(sheet: &Plain<'_>, styles: &Styles) -> Sheet {
    let mut to = Sheet::new("about");
    to.set_col_width(1, centimetres(40));
    for (row, (what, value)) in (0_u32..).zip(sheet.about()) {
        to.set_styled_value(row, 0, what, &styles.heading);
        to.set_value(row, 1, value);
    }
    to
}

fn centimetres(characters: usize) -> Length {
    let characters = u32::try_from(characters).unwrap_or(u32::MAX);
    Length::Cm(f64::from(characters) * CHARACTER)
}

/// The place after so many; a sheet is far smaller than a workbook may be.
fn last(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
