//! Templates as an Office Open XML workbook (ISO/IEC 29500).

use rust_xlsxwriter::{Color, Format, FormatBorder, Formula, Workbook, Worksheet, XlsxError};

use super::formula::{self, Language, NO_ANSWER};
use super::{Page, Put};

/// How cells look; what is filled in is text, so that a fraction stays one.
struct Formats {
    title: Format,
    heading: Format,
    input: Format,
}

pub(super) fn write(pages: &[Page]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let formats = Formats {
        title: Format::new().set_bold().set_font_size(16),
        heading: Format::new()
            .set_bold()
            .set_border_bottom(FormatBorder::Thin),
        input: Format::new()
            .set_num_format("@")
            .set_border(FormatBorder::Thin)
            .set_background_color(Color::RGB(super::INPUT)),
    };
    for page in pages {
        sheet(book.add_worksheet(), page, &formats)?;
    }
    book.save_to_buffer()
}

fn sheet(to: &mut Worksheet, page: &Page, formats: &Formats) -> Result<(), XlsxError> {
    to.set_name(page.name)?;
    for (column, width) in (0_u16..).zip(&page.widths) {
        to.set_column_width(column, f64::from(*width))?;
    }
    for ((row, column), put) in &page.cells {
        let (row, column) = (*row, *column);
        match put {
            Put::Title(text) => to.write_string_with_format(row, column, text, &formats.title)?,
            Put::Text(text) => to.write_string(row, column, text)?,
            Put::Heading(text) => {
                to.write_string_with_format(row, column, text, &formats.heading)?
            }
            Put::Input(text) if text.is_empty() => to.write_blank(row, column, &formats.input)?,
            Put::Input(text) => to.write_string_with_format(row, column, text, &formats.input)?,
            Put::Live(live) => {
                let formula = Formula::new(formula::of(*live, Language::OfficeOpenXml));
                to.write_formula(row, column, formula.set_result(NO_ANSWER))?
            }
        };
    }
    if page.frozen > 0 {
        to.set_freeze_panes(page.frozen, 0)?;
    }
    Ok(())
}
