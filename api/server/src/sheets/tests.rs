//! What is written as CSV and as workbooks, by the rules of the forms and read by a library of others. What is read
//! has tests of its own.

use calamine::{Data, Reader, open_workbook_auto_from_rs};
use chrono::NaiveDateTime;

use super::csv::value;
use super::*;

/// 1781521200 s after 1970 is 15 June 2026, 11:00 UTC.
fn as_of() -> DateTime<Utc> {
    DateTime::from_timestamp(1_781_521_200, 0).expect("an instant")
}

fn sheet(note: &str) -> Sheet<4> {
    let mut sheet = Sheet::new("stock", ["part", "on_hand", "share", "note"], as_of());
    sheet.push([
        "collet-2.4".into(),
        (-2_i64).into(),
        0.5.into(),
        note.into(),
    ]);
    sheet
}

fn csv(note: &str) -> String {
    let bytes = sheet(note).write(SheetForm::Csv).expect("CSV");
    String::from_utf8(bytes).expect("UTF-8")
}

/// The rows of the first sheet, as a library of others reads them; and the text of its formulas.
fn read(bytes: Vec<u8>) -> (Vec<Vec<Data>>, Vec<String>) {
    let mut book = open_workbook_auto_from_rs(std::io::Cursor::new(bytes)).expect("a workbook");
    let range = book
        .worksheet_range_at(0)
        .expect("a sheet")
        .expect("its range");
    let rows = range.rows().map(<[Data]>::to_vec).collect();
    let first = book.sheet_names()[0].clone();
    let formulas = book.worksheet_formula(&first).expect("formulas");
    let formulas = formulas.used_cells().map(|(_, _, text)| text.clone());
    (rows, formulas.collect())
}

const WORKBOOKS: [SheetForm; 2] = [SheetForm::Xlsx, SheetForm::Ods];

#[test]
fn the_first_line_names_the_columns_and_each_row_has_its_instant() {
    assert_eq!(
        csv("split"),
        "part,on_hand,share,note,as_of\r\ncollet-2.4,-2,0.5,split,2026-06-15T11:00:00Z\r\n"
    );
}

#[test]
fn text_that_a_spreadsheet_would_run_gets_an_apostrophe() {
    for note in ["=1+1", "+1", "-1", "@now", "\tx"] {
        assert!(csv(note).contains(&format!(",'{note},")), "{note}");
    }
    // A carriage return needs quotation marks too.
    assert!(csv("\rx").contains(",\"'\rx\","));
}

#[test]
fn text_with_a_comma_a_quote_or_a_line_end_is_quoted() {
    assert!(csv("3/32\", new").contains(",\"3/32\"\", new\","));
    assert!(csv("two\nlines").contains(",\"two\nlines\","));
}

#[test]
fn a_large_or_small_number_has_no_exponent() {
    assert_eq!(value(&Cell::Real(1e21)), "1000000000000000000000");
    assert_eq!(value(&Cell::Real(0.000_000_1)), "0.0000001");
    assert_eq!(value(&Cell::Nothing), "");
    assert_eq!(value(&Cell::from(&None::<i64>)), "");
}

#[test]
fn a_workbook_has_numbers_as_numbers_and_text_as_text() {
    for form in WORKBOOKS {
        let (rows, formulas) = read(sheet("=1+1").write(form).expect("a workbook"));
        let names: Vec<String> = rows[0].iter().map(ToString::to_string).collect();
        assert_eq!(
            names,
            ["part", "on_hand", "share", "note", "as_of"],
            "{form:?}"
        );
        assert_eq!(rows[1][0], Data::String("collet-2.4".to_owned()));
        assert_eq!(rows[1][1], Data::Float(-2.0));
        assert_eq!(rows[1][2], Data::Float(0.5));
        assert_eq!(rows[1][3], Data::String("=1+1".to_owned()));
        assert_eq!(formulas, Vec::<String>::new(), "{form:?}");
    }
}

// 11:00 UTC is 08:00 in Halifax in June, 3 hours behind.
#[test]
fn a_workbook_shows_an_instant_as_the_clock_of_its_offset_did() {
    let day = |text: &str| NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").expect("a time");
    for form in WORKBOOKS {
        let mut sheet = Sheet::new("counts", ["counted_at"], as_of());
        sheet.push([as_of()
            .with_timezone(&chrono_tz::America::Halifax)
            .fixed_offset()
            .into()]);
        let (rows, _) = read(sheet.write(form).expect("a workbook"));
        let shown = |column: usize| calamine::DataType::as_datetime(&rows[1][column]);
        assert_eq!(shown(0), Some(day("2026-06-15 08:00")), "{form:?}");
        assert_eq!(
            shown(1),
            Some(day("2026-06-15 11:00")),
            "as_of is in UTC: {form:?}"
        );
    }
}

// 3 packs of 12.50 and 2 of 4.20 are 37.50 and 8.40, together 45.90.
#[test]
fn a_cost_is_a_formula_with_its_value_and_so_is_the_sum() {
    let cad = |minor| Money::new(minor, Currency::parse("CAD").expect("CAD")).expect("a sum");
    let mut order = Sheet::new("order", ["part", "packs", "price", "cost"], as_of()).with_total(3);
    for (part, packs, price) in [("collet-2.4", 3, 1_250), ("cup-7", 2, 420)] {
        let cost = cad(price * packs);
        let price = Cell::Money(cad(price));
        order.push([
            part.into(),
            packs.into(),
            price,
            Cell::Product([1, 2], cost),
        ]);
    }
    let told = String::from_utf8(order.write(SheetForm::Csv).expect("CSV")).expect("UTF-8");
    assert!(told.contains("collet-2.4,3,12.50,37.50,"), "{told}");
    for form in WORKBOOKS {
        let (rows, formulas) = read(order.write(form).expect("a workbook"));
        let costs: Vec<f64> = rows[1..].iter().map(|row| float(&row[3])).collect();
        assert_eq!(costs, [37.5, 8.4, 45.9], "{form:?}");
        assert_eq!(formulas.len(), 3, "{form:?}: {formulas:?}");
    }
}

fn float(cell: &Data) -> f64 {
    cell.to_string().parse().expect("a number")
}
