//! Files that are pushed, whatever wrote them: as programs do, they are read; as nobody should, they are refused as a
//! whole with what to do, and nothing of them is in. What they would take of memory is bounded, which `memory` shows
//! of the real program.

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;
use tigstock_tests::files::{ods, ods_row, packed, xlsx, xlsx_row};
use types::{ListCounts, ListMovements, ProblemKind, PushSheet, SheetTable};

mod memory;

const HEADER: [&str; 6] = ["row_id", "drawer", "part", "counted", "counted_at", "by"];
/// A count that is right; the time is that of the clock of the shop.
const ROW: [&str; 6] = ["c-1", "", "collet-2.4", "3", "2026-06-15 07:30:00", "Zoé"];
const OCTETS: &str = "application/octet-stream";

/// A sheet of one row as text.
fn text(separator: &str) -> String {
    format!("{}\n{}\n", HEADER.join(separator), ROW.join(separator))
}

async fn shop() -> TestServer {
    let server = furnished().await;
    server.set_clock("2026-06-15T18:30:00-03:00");
    server
}

/// The cells and the lines of what would go in of a file.
async fn tried(server: &TestServer, name: &str, file: Vec<u8>) -> (Vec<Vec<String>>, Vec<u64>) {
    let how = PushSheet {
        only_try: true,
        name: Some(name.to_owned()),
        ..PushSheet::default()
    };
    let owner = &server.owner;
    let told = owner.push_sheet(SheetTable::Counts, (file, OCTETS), &how);
    let told = told.await.unwrap_or_else(|error| panic!("{name}: {error}"));
    for row in &told.rows {
        assert_eq!(row.result, "in", "{name}: {}", row.what_to_do);
    }
    let lines = told.rows.iter().map(|row| row.line).collect();
    (told.rows.into_iter().map(|row| row.cells).collect(), lines)
}

fn wide(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
    text.encode_utf16().flat_map(bytes).collect()
}

/// In the code page of western Europe each letter of the row is one byte.
fn western(text: &str) -> Vec<u8> {
    let letters = text.chars().map(|it| u8::try_from(u32::from(it)));
    letters.map(|it| it.expect("one byte")).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn text_is_read_whatever_its_encoding_and_its_separator() {
    let server = shop().await;
    let titled = format!("Count of the week,,,,,\n,,,,,\n\n{}", text(","));
    for (what, file, line) in [
        ("plain", text(",").into_bytes(), 2),
        ("marked", format!("\u{feff}{}", text(",")).into_bytes(), 2),
        (
            "UTF-16 LE",
            wide(&format!("\u{feff}{}", text(";")), u16::to_le_bytes),
            2,
        ),
        (
            "UTF-16 BE",
            wide(&format!("\u{feff}{}", text("\t")), u16::to_be_bytes),
            2,
        ),
        ("Latin-1", western(&text(",")), 2),
        ("semicolons", text(";").into_bytes(), 2),
        ("tabs", text("\t").into_bytes(), 2),
        ("title rows", titled.into_bytes(), 5),
        (
            "blank rows",
            text(",").replace("by\n", "by\n\n,,,,,\n").into_bytes(),
            4,
        ),
        ("CR LF", text(",").replace('\n', "\r\n").into_bytes(), 2),
    ] {
        let (cells, lines) = tried(&server, "x.csv", file).await;
        assert_eq!(cells, [ROW], "{what}");
        assert_eq!(lines, [line], "{what}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn workbooks_are_read_with_titles_merged_cells_blank_rows_and_formulas() {
    let server = shop().await;
    let title = "<row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>Count</t></is></c></row>";
    // 46188 days after 30 December 1899 is 15 June 2026; 0.3125 of a day is 07:30. The cell has no format of a date.
    let formula = "<c r=\"D6\"><f>1+2</f><v>3</v></c>";
    let row =
        xlsx_row(6, &ROW).replace("<c r=\"D6\" t=\"inlineStr\"><is><t>3</t></is></c>", formula);
    assert!(row.contains("<f>"), "{row}");
    let merged = format!("{title}{}{row}", xlsx_row(3, &HEADER));
    let merged = xlsx(
        &format!(
            "{merged}</sheetData><mergeCells><mergeCell ref=\"A1:F1\"/></mergeCells><sheetData>"
        ),
        "",
    );
    let (cells, lines) = tried(&server, "x.xlsx", merged).await;
    assert_eq!(
        (cells, lines),
        (vec![ROW.map(str::to_owned).to_vec()], vec![6])
    );

    let title = "<table:table-row><table:table-cell table:number-columns-spanned=\"6\" office:value-type=\"string\">\
         <text:p>Count</text:p></table:table-cell><table:covered-table-cell table:number-columns-repeated=\"5\"/>\
         </table:table-row>";
    let blank = "<table:table-row table:number-rows-repeated=\"2\"><table:table-cell \
         table:number-columns-repeated=\"16384\"/></table:table-row>";
    let formula = "<table:table-cell table:formula=\"of:=1+2\" office:value-type=\"float\" office:value=\"3\"><text:p>\
         3.00</text:p></table:table-cell>";
    let date = "<table:table-cell office:value-type=\"date\" office:date-value=\"2026-06-15T07:30:00\"><text:p>15 June\
         </text:p></table:table-cell>";
    let noted = "<table:table-cell office:value-type=\"string\"><office:annotation><text:p>by hand</text:p>\
         </office:annotation><text:p>Zo&#233;</text:p></table:table-cell>";
    let start = ods_row(&ROW[..3]).replace("</table:table-row>", "");
    let below = "<table:table-row table:number-rows-repeated=\"1048570\"><table:table-cell \
         table:number-columns-repeated=\"16384\"/></table:table-row>";
    let rows = format!(
        "{title}{}{blank}{start}{formula}{date}{noted}</table:table-row>{below}",
        ods_row(&HEADER)
    );
    let (cells, lines) = tried(&server, "x.ods", ods(&rows, "")).await;
    assert_eq!(
        (cells, lines),
        (vec![ROW.map(str::to_owned).to_vec()], vec![5])
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_is_what_its_first_bytes_say() {
    let server = shop().await;
    let rows = format!("{}{}", xlsx_row(1, &HEADER), xlsx_row(2, &ROW));
    for name in ["x.csv", "x.ods", "x"] {
        let (cells, _) = tried(&server, name, xlsx(&rows, "")).await;
        assert_eq!(cells, [ROW], "{name}");
    }
}

/// An archive of one file that says of it, where the archive lists it, that it would be of 10 bytes.
fn small(mut archive: Vec<u8>) -> Vec<u8> {
    // 4.3.7 and 4.3.12 of the specification of the format: the size is 22 and 24 bytes behind the signatures.
    for (signature, size) in [(b"PK\x03\x04", 22), (b"PK\x01\x02", 24)] {
        let at = archive.windows(4).rposition(|it| it == signature);
        let at = at.expect("it is there") + size;
        archive[at..at + 4].copy_from_slice(&10_u32.to_le_bytes());
    }
    archive
}

/// A file that is refused: what it is, its name, its bytes, the kind of problem, and words of it.
type Refused = (
    &'static str,
    &'static str,
    Vec<u8>,
    ProblemKind,
    &'static str,
);

fn bombs() -> Vec<Refused> {
    use ProblemKind::{Invalid, TooLarge};
    let zeros = vec![0; 136 << 20];
    let bomb = packed(&[("xl/workbook.xml", &zeros)]);
    let large = "unpack to more than";
    let repeated = ods_row(&["x"; 6]).replace(
        "<table:table-row>",
        "<table:table-row table:number-rows-repeated=\"1000000\">",
    );
    let beside = ods_row(&["x"]).replace(
        "<table:table-cell",
        "<table:table-cell table:number-columns-repeated=\"1000000\"",
    );
    let (rows, columns) = ("more than 200000 rows", "more than 256 columns");
    let cut = "damaged or cut short";
    vec![
        ("a bomb as XLSX", "x.xlsx", bomb.clone(), TooLarge, large),
        ("said to be small", "x.xlsx", small(bomb), Invalid, cut),
        (
            "a bomb as ODS",
            "x.ods",
            packed(&[("content.xml", &zeros)]),
            TooLarge,
            large,
        ),
        (
            "rows without end",
            "x.ods",
            ods(&repeated, ""),
            TooLarge,
            rows,
        ),
        (
            "columns without end",
            "x.ods",
            ods(&beside, ""),
            TooLarge,
            columns,
        ),
    ]
}

fn workbooks() -> Vec<Refused> {
    use ProblemKind::{Invalid, UnsupportedMediaType};
    let good = format!("{}{}", xlsx_row(1, &HEADER), xlsx_row(2, &ROW));
    let mut half = xlsx(&good, "");
    half.truncate(half.len() / 2);
    let mut ole = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".to_vec();
    ole.resize(4_096, 0);
    ole.extend(wide("EncryptedPackage", u16::to_le_bytes));
    let enciphered = "<manifest:encryption-data manifest:checksum=\"AAAA\"/>";
    let (archive, locked) = (packed(&[("a.txt", b"a")]), "protected by a password");
    let pdf = b"%PDF-1.7\n%\xE2\xE3\xCF\xD3\n".to_vec();
    let picture = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    let (text, empty) = (text(",").into_bytes(), ods(&ods_row(&HEADER), ""));
    vec![
        ("cut short", "x.xlsx", half, Invalid, "damaged or cut short"),
        ("protected", "x.xlsx", ole, Invalid, locked),
        ("enciphered", "x.ods", ods("", enciphered), Invalid, locked),
        ("a PDF", "x.xlsx", pdf, UnsupportedMediaType, "is a PDF"),
        ("a picture", "x.csv", picture, Invalid, "no text"),
        (
            "text",
            "x.xlsx",
            text,
            Invalid,
            "there is no workbook in it",
        ),
        (
            "an archive",
            "x.xlsx",
            archive,
            UnsupportedMediaType,
            "no workbook in it",
        ),
        (
            "without rows",
            "x.ods",
            empty,
            Invalid,
            "no rows under the header",
        ),
    ]
}

fn texts() -> Vec<Refused> {
    use ProblemKind::{Invalid, TooLarge, UnsupportedMediaType};
    let header = HEADER.join(",");
    let open = format!("{}a-2,,\"collet-2.4,4,,\n", text(","));
    let long = format!("{header}\n,,collet-2.4,1,,{}\n", "x".repeat(10 << 20));
    let wide = format!("{header}{}\n", ",x".repeat(1_000_000));
    let beside = format!("{header}\n,,collet-2.4,1,,{}\n", ",x".repeat(1_000_000));
    let rows = format!("{header}\n{}", ",,collet-2.4,1,,\n".repeat(200_001));
    let odd = format!("\u{feff}{}", text(","));
    let odd: Vec<u8> = odd
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .chain([0])
        .collect();
    vec![
        (
            "cut short in quotes",
            "x.csv",
            open.into_bytes(),
            Invalid,
            "line 3 opens a quotation mark",
        ),
        (
            "UTF-16 cut short",
            "x.csv",
            odd,
            Invalid,
            "damaged or cut short",
        ),
        (
            "a cell of 10 MB",
            "x.csv",
            long.into_bytes(),
            TooLarge,
            "line 2 has a cell of 10485760 bytes",
        ),
        (
            "a million columns",
            "x.csv",
            wide.into_bytes(),
            TooLarge,
            "line 1 has more than 256 columns",
        ),
        (
            "a million values",
            "x.csv",
            beside.into_bytes(),
            TooLarge,
            "line 2 has more than 256 columns",
        ),
        (
            "200001 rows",
            "x.csv",
            rows.into_bytes(),
            TooLarge,
            "more than 200000 rows",
        ),
        ("no text", "x.csv", b"row_id\0".to_vec(), Invalid, "no text"),
        ("nothing", "x.csv", Vec::new(), Invalid, "nothing in it"),
        (
            "of no form",
            "x.dat",
            text(",").into_bytes(),
            UnsupportedMediaType,
            "?name=",
        ),
    ]
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_that_cannot_be_taken_says_why_and_changes_nothing() {
    let server = shop().await;
    let ledger = async || {
        let movements = server.owner.list_movements(&ListMovements::default()).await;
        let counts = server.owner.list_counts(&ListCounts::default()).await;
        (
            movements.expect("movements").movements,
            counts.expect("counts").counts,
        )
    };
    let before = ledger().await;
    for (what, name, file, kind, words) in [bombs(), workbooks(), texts()].concat() {
        let path = format!("/v1/sheets/counts?name={name}");
        let heard = server.ask("POST", &path).text(OCTETS, file).send().await;
        assert_eq!(heard.status, kind.status(), "{what}: {}", heard.text());
        let problem = heard.problem(kind);
        assert!(problem.detail.contains(words), "{what}: {}", problem.detail);
    }
    assert_eq!(ledger().await, before);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_fraction_that_became_a_day_with_its_midnight_is_found() {
    let server = shop().await;
    for part in ["2032-03-01 00:00:00", "2032-03-01T00:00:00"] {
        let sheet = text(",").replace("collet-2.4", part).into_bytes();
        let told = server
            .owner
            .push_sheet(
                SheetTable::Counts,
                (sheet, "text/csv"),
                &PushSheet::default(),
            )
            .await
            .expect("it is judged");
        let why = &told.rows[0].what_to_do;
        assert!(
            why.contains("looks like the fraction 3/32"),
            "{part}: {why}"
        );
    }
}
