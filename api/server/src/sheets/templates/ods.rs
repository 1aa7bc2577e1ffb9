//! Templates as an `OpenDocument` spreadsheet (ISO/IEC 26300).

use spreadsheet_ods::{
    CellStyle, CellStyleRef, Length, OdsError, Sheet, WorkBook,
    color::Rgb,
    defaultstyles::DefaultFormat,
    style::units::{Border, FontSize},
    write_ods_buf,
};

use super::formula::{self, Language, NO_ANSWER};
use super::{Page, Put};

/// How wide a character is taken to be, in centimetres.
const CHARACTER: f64 = 0.22;

/// How cells look; what is filled in is text, so that a fraction stays one.
struct Styles {
    title: CellStyleRef,
    heading: CellStyleRef,
    input: CellStyleRef,
}

impl Styles {
    fn of(book: &mut WorkBook) -> Self {
        let mut title = CellStyle::new("title", &DefaultFormat::default());
        title.set_font_bold();
        title.set_font_size(FontSize::Length(Length::Pt(16.0)));
        let mut heading = CellStyle::new("heading", &DefaultFormat::default());
        heading.set_font_bold();
        let text = book.add_text_format(spreadsheet_ods::ValueFormatText::new_named("as-text"));
        let mut input = CellStyle::new("input", &text);
        let [_, red, green, blue] = super::INPUT.to_be_bytes();
        input.set_background_color(Rgb::new(red, green, blue));
        let line = Length::Pt(0.75);
        input.set_border(line, Border::Solid, Rgb::new(128_u8, 128, 128));
        Self {
            title: book.add_cellstyle(title),
            heading: book.add_cellstyle(heading),
            input: book.add_cellstyle(input),
        }
    }
}

pub(super) fn write(pages: &[Page]) -> Result<Vec<u8>, OdsError> {
    let mut book = WorkBook::default();
    let styles = Styles::of(&mut book);
    for page in pages {
        book.push_sheet(sheet(page, &styles));
    }
    write_ods_buf(&mut book, Vec::new())
}

fn sheet(page: &Page, styles: &Styles) -> Sheet {
    let mut to = Sheet::new(page.name);
    for (column, width) in (0_u32..).zip(&page.widths) {
        to.set_col_width(column, Length::Cm(f64::from(*width) * CHARACTER));
    }
    for ((row, column), put) in &page.cells {
        let (row, column) = (*row, u32::from(*column));
        match put {
            Put::Title(text) => to.set_styled_value(row, column, text, &styles.title),
            Put::Text(text) => to.set_value(row, column, text),
            Put::Heading(text) => to.set_styled_value(row, column, text, &styles.heading),
            Put::Input(text) if text.is_empty() => {
                to.set_cellstyle(row, column, &styles.input);
            }
            Put::Input(text) => to.set_styled_value(row, column, text, &styles.input),
            Put::Live(live) => {
                to.set_value(row, column, NO_ANSWER);
                let formula = formula::of(*live, Language::OpenFormula);
                to.set_formula(row, column, format!("of:{formula}"));
            }
        }
    }
    if page.frozen > 0 {
        to.split_row_header(page.frozen - 1);
    }
    to
}
