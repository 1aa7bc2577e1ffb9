//! Random files: good ones with bytes flipped, cut, doubled, spliced and overwritten, as text, as workbooks, and as
//! workbooks that are packed anew around what was changed. Each is read or refused, soon, without a fault; and of what
//! is pushed as many rows are in as the answer says. `TIGSTOCK_TEST_FUZZ=100` runs a hundred times as many.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

use server::sheets::reading::{self, Told};
use tigstock_tests::TestServer;
use tigstock_tests::crash::dice::Dice;
use tigstock_tests::demo::furnished;
use tigstock_tests::files::{ods, ods_row, xlsx, xlsx_row};
use types::{ListCounts, PAGE_MAX, PushedSheet};

const HEADER: [&str; 6] = ["row_id", "drawer", "part", "counted", "counted_at", "by"];
const TIME: &str = "2026-06-15 07:30:00";
const ROWS: [[&str; 6]; 3] = [
    ["a-1", "", "collet-2.4", "3", TIME, "helper"],
    ["a-2", "", "WLa20-2.4", "4 pcs", TIME, "helper"],
    ["a-3", "", "cup-7-gas-lens", "-1", "45000.5", "helper"],
];
/// Files of a run without more, read and pushed. A file that is pushed costs some twenty times as much.
const READ: u64 = 1_500;
const PUSHED: u64 = 60;
/// Far more than a file of some hundred bytes takes, on a machine that has other things to do.
const SOON: Duration = Duration::from_secs(20);

/// How many times as many files.
fn times() -> u64 {
    let told = std::env::var("TIGSTOCK_TEST_FUZZ").ok();
    told.map_or(1, |told| {
        told.parse().expect("TIGSTOCK_TEST_FUZZ is a number")
    })
}

fn text() -> String {
    let quoted = |cell: &&str| format!("\"{cell}\"");
    let lines = std::iter::once(&HEADER).chain(&ROWS);
    let lines = lines.map(|row| row.iter().map(quoted).collect::<Vec<_>>().join(","));
    lines.collect::<Vec<_>>().join("\r\n")
}

/// The rows of a workbook of Office Open XML, with a shared text, a number, a formula and a date.
fn xlsx_rows() -> String {
    let rows = (2..).zip(&ROWS).map(|(line, row)| xlsx_row(line, row));
    let more = "<row r=\"9\"><c r=\"C9\" t=\"s\"><v>0</v></c><c r=\"D9\"><f>1+2</f><v>3</v></c><c r=\"E9\" \
         t=\"d\"><v>2026-06-15T07:30:00</v></c><c r=\"F9\" t=\"e\"><v>#N/A</v></c></row>";
    format!("{}{}{more}", xlsx_row(1, &HEADER), rows.collect::<String>())
}

/// The rows of a spreadsheet of `OpenDocument`, with blanks and rows that are repeated, a formula, a date and a note.
fn ods_rows() -> String {
    let rows = ROWS.iter().map(|row| ods_row(row));
    let more = "<table:table-row table:number-rows-repeated=\"12\"><table:table-cell \
         table:number-columns-repeated=\"2\"/><table:table-cell office:value-type=\"string\"><office:annotation><text:p>a\
         </text:p></office:annotation><text:p>collet<text:s text:c=\"3\"/>&amp;&#45;2.4</text:p></table:table-cell>\
         <table:table-cell table:formula=\"of:=1\" office:value-type=\"float\" office:value=\"1\"/><table:table-cell \
         office:value-type=\"date\" office:date-value=\"2026-06-15T07:30:00\"/></table:table-row>";
    format!("{}{}{more}", ods_row(&HEADER), rows.collect::<String>())
}

/// Changes some bytes, in one way or two.
fn changed(dice: &mut Dice, mut bytes: Vec<u8>) -> Vec<u8> {
    for _ in 0..dice.quantity(2) {
        if bytes.is_empty() {
            break;
        }
        let at = dice.below(bytes.len());
        let until = (at + dice.below(40)).min(bytes.len());
        let piece = bytes[at..until].to_vec();
        match dice.up_to(6) {
            0 => bytes[at] ^= 1 << dice.up_to(7),
            1 => bytes[at] = *b"\0\xFF\"<>&0".get(dice.below(7)).expect("one of seven"),
            2 => bytes.truncate(at),
            3 => drop(bytes.drain(at..until)),
            4 => drop(bytes.splice(at..at, piece)),
            5 => {
                let to = dice.below(bytes.len());
                drop(bytes.splice(to..to, piece));
            }
            _ => drop(bytes.splice(at..at, b"99999999999".iter().copied())),
        }
    }
    bytes
}

/// A file that follows from a seed, and the name it is sent under.
fn file(seed: u64) -> (&'static str, Vec<u8>) {
    let mut dice = Dice::new(seed);
    let readable = |dice: &mut Dice, rows: String| {
        let bytes = changed(dice, rows.into_bytes());
        String::from_utf8_lossy(&bytes).into_owned()
    };
    let shared = "<si><t>collet-2.4</t></si>";
    match seed % 6 {
        0 => ("x.csv", changed(&mut dice, text().into_bytes())),
        1 => {
            let text = text();
            let wide = text.encode_utf16().flat_map(u16::to_le_bytes);
            ("x.csv", changed(&mut dice, wide.collect()))
        }
        2 => ("x.xlsx", changed(&mut dice, xlsx(&xlsx_rows(), shared))),
        3 => ("x.ods", changed(&mut dice, ods(&ods_rows(), ""))),
        4 => {
            let shared = readable(&mut dice, shared.to_owned());
            ("x.xlsx", xlsx(&readable(&mut dice, xlsx_rows()), &shared))
        }
        _ => ("x.ods", ods(&readable(&mut dice, ods_rows()), "")),
    }
}

#[test]
fn a_random_file_is_read_or_refused() {
    let (mut read, mut refused) = ([0; 6], [0; 6]);
    for seed in 0..READ * times() {
        let (name, bytes) = file(seed);
        let told = Told {
            media_type: "application/octet-stream",
            name: Some(name),
        };
        let began = Instant::now();
        let heard = catch_unwind(AssertUnwindSafe(|| {
            reading::read(&bytes, told, &HEADER[1..])
        }));
        let heard = heard.unwrap_or_else(|_| panic!("seed {seed}: it panics"));
        let took = began.elapsed();
        assert!(took < SOON, "seed {seed}: {took:?}");
        let kind = usize::try_from(seed % 6).expect("it is small");
        if heard.is_ok() {
            read[kind] += 1;
        } else {
            refused[kind] += 1;
        }
    }
    // Of each kind both happen, except that hardly a change to packed bytes is read.
    for kind in [0, 1, 4, 5] {
        assert!(
            read[kind] > 0 && refused[kind] > 0,
            "{kind}: {read:?}, {refused:?}"
        );
    }
}

/// How many counts are on record.
async fn counts(server: &TestServer) -> usize {
    let (mut found, mut after) = (0, None);
    loop {
        let query = ListCounts {
            limit: Some(PAGE_MAX),
            after,
            ..ListCounts::default()
        };
        let page = server.owner.list_counts(&query).await.expect("a page");
        found += page.counts.len();
        after = page.next;
        if after.is_none() {
            return found;
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn of_a_random_file_as_many_rows_are_in_as_the_answer_says() {
    let server = furnished().await;
    server.set_clock("2026-06-15T18:30:00-03:00");
    let mut all = 0;
    for seed in 0..PUSHED * times() {
        let (name, bytes) = file(seed);
        let before = counts(&server).await;
        let began = Instant::now();
        let ask = server.ask("POST", &format!("/v1/sheets/counts?name={name}"));
        let ask = ask.header("Accept", "application/json");
        let heard = ask.text("application/octet-stream", bytes).send().await;
        let took = began.elapsed();
        assert!(took < SOON, "seed {seed}: {took:?}");
        assert!(
            [200, 413, 415, 422].contains(&heard.status),
            "seed {seed}: {}",
            heard.text()
        );
        let is_in = if heard.status == 200 {
            let told: PushedSheet = heard.read();
            told.rows.iter().filter(|row| row.result == "in").count()
        } else {
            0
        };
        assert_eq!(
            counts(&server).await - before,
            is_in,
            "seed {seed}: {}",
            heard.text()
        );
        all += is_in;
    }
    assert!(all > 0, "no random file had a row that is right");
}
