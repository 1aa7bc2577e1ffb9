//! Workbooks that a shop opens and uses: what stands in them, and that what is filled in can be pushed back.

use std::io::Cursor;

use calamine::{Data, Ods, Reader, Xlsx};
use rust_xlsxwriter::Workbook;
use tigstock_tests::demo::furnished;
use types::{GetTemplate, NewDrawer, PushSheet, Role, SheetTable, SheetTemplate, WorkbookForm};

type Cells = Vec<Vec<String>>;

/// The cells of a sheet, from its first row and column on, and its formulas.
fn sheet(bytes: &[u8], form: WorkbookForm, name: &str) -> (Cells, Cells) {
    fn all<R: Reader<Cursor<Vec<u8>>>>(mut book: R, name: &str) -> (Cells, Cells)
    where
        R::Error: std::fmt::Debug,
    {
        let cells = book.worksheet_range(name).expect("a sheet");
        let formulas = book.worksheet_formula(name).expect("its formulas");
        let text = |cell: &Data| cell.to_string();
        (
            cells
                .rows()
                .map(|row| row.iter().map(text).collect())
                .collect(),
            formulas.rows().map(<[String]>::to_vec).collect(),
        )
    }
    let bytes = Cursor::new(bytes.to_vec());
    match form {
        WorkbookForm::Xlsx => all(Xlsx::new(bytes).expect("a workbook"), name),
        WorkbookForm::Ods => all(Ods::new(bytes).expect("a workbook"), name),
    }
}

fn drawer(code: &str, part: &str) -> NewDrawer {
    NewDrawer {
        code: code.to_owned(),
        name: None,
        site: None,
        parts: vec![part.to_owned()],
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_template_has_instructions_a_sheet_to_fill_in_and_live_cells() {
    let server = furnished().await;
    server
        .owner
        .create_drawer(&drawer("2", "collet-2.4"))
        .await
        .expect("a drawer");
    let reader = server.client(Role::Read);
    for form in [WorkbookForm::Xlsx, WorkbookForm::Ods] {
        for template in [SheetTemplate::BigJob, SheetTemplate::CountSheet] {
            let bytes = reader
                .get_template(template, form, &GetTemplate::default())
                .await;
            let bytes = bytes.expect("a workbook");
            let (start, _) = sheet(&bytes, form, "start");
            let address = start
                .iter()
                .find(|row| row[0] == "address")
                .expect("the address");
            assert_eq!(address[1], server.url, "{form:?}");
            let told = start.concat().join(" ");
            assert!(
                told.contains("tigstock import FILE --table counts"),
                "{told}"
            );
            assert!(!told.contains("tig_"), "no key is put into it");
            let (fill_in, _) = sheet(&bytes, form, "fill-in");
            assert_eq!(
                fill_in[0][..6],
                ["drawer", "part", "name", "counted", "counted_at", "by"]
            );
            assert_eq!(
                fill_in[1][..3],
                ["2", "collet-2.4", "Collet 2.4 mm, large body"],
                "drawers come first"
            );
            assert!(
                fill_in.iter().any(|row| row[1] == "WLa20-2.4"),
                "{fill_in:?}"
            );
            let (live, formulas) = sheet(&bytes, form, "live");
            assert!(live.iter().any(|row| row[0] == "collet-2.4"), "{live:?}");
            let asks = formulas.concat().join(" ");
            assert!(
                asks.contains("/v1/cell/available?part="),
                "{form:?}: {asks}"
            );
            let of_job = template == SheetTemplate::BigJob;
            assert_eq!(asks.contains("/v1/cell/chance?job="), of_job, "{form:?}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_filled_in_is_pushed_back_with_the_whole_file() {
    let server = furnished().await;
    let bytes = server
        .owner
        .get_template(
            SheetTemplate::CountSheet,
            WorkbookForm::Xlsx,
            &GetTemplate::default(),
        )
        .await;
    let (rows, _) = sheet(&bytes.expect("a workbook"), WorkbookForm::Xlsx, "fill-in");
    // As a spreadsheet saves it: the same sheets, with a count filled in.
    let mut book = Workbook::new();
    book.add_worksheet()
        .set_name("start")
        .expect("a name")
        .write(0, 0, "Count sheet")
        .expect("a cell");
    let to = book.add_worksheet().set_name("fill-in").expect("a name");
    for (row, cells) in (0_u32..).zip(&rows) {
        for (column, cell) in (0_u16..).zip(cells) {
            to.write_string(row, column, cell).expect("a cell");
        }
    }
    let at = rows
        .iter()
        .position(|row| row[1] == "collet-2.4")
        .expect("the collet");
    let at = u32::try_from(at).expect("few rows");
    to.write_string(at, 3, "4").expect("a cell");
    to.write_string(at, 4, "2026-06-15 08:00").expect("a cell");
    let file = book.save_to_buffer().expect("a file");
    let media_type = WorkbookForm::Xlsx.sheet().media_type();
    let how = PushSheet::default();
    let told = server
        .owner
        .push_sheet(SheetTable::Counts, (file, media_type), &how)
        .await;
    let told = told.expect("it is judged");
    assert!(
        told.says
            .starts_with("1 rows: 1 in, 0 already in, 0 need you."),
        "{}",
        told.says
    );
    assert_eq!(server.on_hand("collet-2.4").await, 4);
}
