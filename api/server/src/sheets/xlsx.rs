//! Sheets as an Office Open XML workbook (ISO/IEC 29500). A formula is written with its value, for readers that do
//! not recalculate.

use rust_xlsxwriter::{
    Format, Formula, Workbook, Worksheet, XlsxError, utility::column_number_to_name,
};

use super::returned::Returned;
use super::{Cell, Plain, main_unit, real, returned};

/// How cells look.
struct Formats {
    heading: Format,
    instant: Format,
    day: Format,
    total: Format,
}

impl Formats {
    fn new() -> Self {
        Self {
            heading: Format::new().set_bold(),
            instant: Format::new().set_num_format("yyyy-mm-dd hh:mm:ss"),
            day: Format::new().set_num_format("yyyy-mm-dd"),
            total: Format::new().set_bold(),
        }
    }
}

/// The workbook: the sheet, and one that tells what it is.
pub(super) fn write(sheet: &Plain<'_>) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let formats = Formats::new();
    rows(book.add_worksheet(), sheet, &formats)?;
    about(book.add_worksheet(), sheet, &formats)?;
    book.save_to_buffer()
}

/// The workbook of a sheet that comes back, whose sum stands above the names of the columns.
pub(super) fn returned(sheet: &Returned<'_>) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let heading = Formats::new().heading;
    let to = book.add_worksheet();
    to.set_name(sheet.title)?;
    to.write_string(0, 0, sheet.says)?;
    for (column, name) in (0_u16..).zip(returned::names(sheet)) {
        to.write_string_with_format(1, column, name, &heading)?;
        let cells = returned::rows(sheet).filter_map(|mut row| row.nth(usize::from(column)));
        to.set_column_width(column, narrow(returned::width(cells.chain([name]))))?;
    }
    for (row, cells) in (2_u32..).zip(returned::rows(sheet)) {
        for (column, cell) in (0_u16..).zip(cells) {
            match returned::cell(cell) {
                Cell::Real(number) => to.write_number(row, column, number)?,
                Cell::Text(text) => to.write_string(row, column, text)?,
                Cell::Whole(_)
                | Cell::Money(_)
                | Cell::Product(..)
                | Cell::Day(_)
                | Cell::Instant(_)
                | Cell::Nothing => to,
            };
        }
    }
    to.set_freeze_panes(2, 0)?;
    book.save_to_buffer()
}

fn rows(to: &mut Worksheet, sheet: &Plain<'_>, formats: &Formats) -> Result<(), XlsxError> {
    to.set_name(sheet.title)?;
    let as_of = Cell::Instant(sheet.as_of.fixed_offset());
    for (column, name) in (0_u16..).zip(sheet.names()) {
        to.write_string_with_format(0, column, name, &formats.heading)?;
        to.set_column_width(column, narrow(sheet.width(usize::from(column), name)))?;
    }
    let last = wide(sheet.columns.len());
    to.set_column_width(last, 20)?;
    for (row, cells) in (1_u32..).zip(&sheet.rows) {
        for (column, cell) in (0_u16..).zip(cells.iter().chain([&as_of])) {
            put(to, (row, column), cell, formats)?;
        }
    }
    totals(to, sheet, formats)?;
    to.set_freeze_panes(1, 0)?;
    to.autofilter(0, 0, long(sheet.rows.len()), last)?;
    Ok(())
}

fn put(
    to: &mut Worksheet,
    (row, column): (u32, u16),
    cell: &Cell,
    formats: &Formats,
) -> Result<(), XlsxError> {
    match cell {
        Cell::Text(text) => to.write_string(row, column, text)?,
        Cell::Whole(number) => to.write_number(row, column, real(*number))?,
        Cell::Real(number) => to.write_number(row, column, *number)?,
        Cell::Money(money) => {
            to.write_number_with_format(row, column, main_unit(*money), &decimals(*money))?
        }
        Cell::Product([one, other], money) => {
            let name = |column| format!("{}{}", column_number_to_name(column), row + 1);
            let formula = Formula::new(format!("={}*{}", name(*one), name(*other)));
            let formula = formula.set_result(money.amount());
            to.write_formula_with_format(row, column, formula, &decimals(*money))?
        }
        Cell::Day(day) => to.write_datetime_with_format(row, column, *day, &formats.day)?,
        Cell::Instant(instant) => {
            let local = instant.naive_local();
            to.write_datetime_with_format(row, column, local, &formats.instant)?
        }
        Cell::Nothing => to,
    };
    Ok(())
}

/// As many decimals as the currency has.
fn decimals(money: domain::quantity::Money) -> Format {
    let digits = usize::try_from(money.currency().minor_digits()).unwrap_or(0);
    let stop = if digits == 0 { "" } else { "." };
    Format::new().set_num_format(format!("0{stop}{}", "0".repeat(digits)))
}

/// The sums, below the rows.
fn totals(to: &mut Worksheet, sheet: &Plain<'_>, formats: &Formats) -> Result<(), XlsxError> {
    let row = long(sheet.rows.len()) + 1;
    for column in sheet.totals {
        let name = column_number_to_name(*column);
        let formula = Formula::new(format!("=SUM({name}2:{name}{row})"));
        let formula = formula.set_result(sheet.total(*column).to_string());
        to.write_formula_with_format(row, *column, formula, &formats.total)?;
    }
    if !sheet.totals.is_empty() && !sheet.totals.contains(&0) {
        to.write_string_with_format(row, 0, "total", &formats.total)?;
    }
    Ok(())
}

fn about(to: &mut Worksheet, sheet: &Plain<'_>, formats: &Formats) -> Result<(), XlsxError> {
    to.set_name("about")?;
    to.set_column_width(1, 40)?;
    for (row, (what, value)) in (0_u32..).zip(sheet.about()) {
        to.write_string_with_format(row, 0, what, &formats.heading)?;
        to.write_string(row, 1, value)?;
    }
    Ok(())
}

/// A width as the writer takes it; it is bounded by the caller.
fn narrow(width: usize) -> u32 {
    u32::try_from(width).unwrap_or(u32::MAX)
}

/// The place of a row; a sheet is far shorter than a workbook may be.
fn long(rows: usize) -> u32 {
    u32::try_from(rows).unwrap_or(u32::MAX)
}

/// The place of a column; a sheet has a few dozen.
fn wide(columns: usize) -> u16 {
    u16::try_from(columns).unwrap_or(u16::MAX)
}
