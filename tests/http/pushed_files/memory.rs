//! What hostile files take of memory, by what the kernel says of the real program. Each is far smaller than what it
//! would become, or far larger than what is read of it.

use std::io::Write;
use std::sync::Arc;
use std::time::Duration;

use tigstock_tests::files::{ods, ods_row, packed, xlsx, xlsx_row};
use tigstock_tests::programs::{Home, Serving};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

use super::HEADER;

/// The most that the program may have had at any time, in MiB: the cells that are kept are at most 192 MiB and a text is
/// at most 64 MiB as it comes; the rest is for the reader, and for what the allocator does not give back in between.
const MOST: u64 = 768;
/// What a file would have been that does not fit.
const GIBIBYTE: usize = 1 << 30;

/// The most memory that a process has had, in MiB; nothing where the system does not tell.
fn peak(serving: &Serving) -> Option<u64> {
    let told = std::fs::read_to_string(format!("/proc/{}/status", serving.id())).ok()?;
    let line = told.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kibibytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes / 1_024)
}

/// What the program says to a file that is pushed: the first line of its answer, and the rest.
async fn pushed(
    serving: &Serving,
    key: &str,
    name: &str,
    file: Arc<Vec<u8>>,
    times: usize,
) -> String {
    let address = serving.url.trim_start_matches("http://");
    let stream = TcpStream::connect(address).await.expect("it listens");
    let (mut from, mut to) = stream.into_split();
    let head = format!(
        "POST /v1/sheets/counts?name={name} HTTP/1.1\r\nHost: {address}\r\nAuthorization: Bearer {key}\r\n\
         Content-Type: application/octet-stream\r\nAccept: application/json\r\nTransfer-Encoding: chunked\r\nConnection: close\r\n\r\n"
    );
    // The answer may come before all is sent, and the rest is then not taken.
    let sending = tokio::spawn(async move {
        let mut sent = to.write_all(head.as_bytes()).await;
        let size = format!("{:x}\r\n", file.len());
        for _ in 0..times {
            for part in [size.as_bytes(), &file, b"\r\n"] {
                if sent.is_ok() {
                    sent = to.write_all(part).await;
                }
            }
        }
        if sent.is_ok() {
            sent = to.write_all(b"0\r\n\r\n").await;
        }
        (to, sent)
    });
    let mut answer = Vec::new();
    let reading = tokio::time::timeout(Duration::from_mins(2), from.read_to_end(&mut answer));
    reading.await.expect("it answers").expect("its answer");
    sending.abort();
    String::from_utf8_lossy(&answer).into_owned()
}

/// Says a line where `--nocapture` and a look at what was skipped find it.
fn say(line: &str) {
    writeln!(std::io::stdout().lock(), "{line}").expect("it can be said");
}

/// Files that would become large, and what is said to them.
fn files() -> Vec<(&'static str, Vec<u8>, usize, &'static str)> {
    let text = "x".repeat(32_000);
    // A few kilobytes name one text of 32 KB for each of 120 000 cells, which would be 3.8 GB.
    let shared = (1..=20_000).map(|line| {
        let cells = ["A", "B", "C", "D", "E", "F"]
            .map(|column| format!("<c r=\"{column}{line}\" t=\"s\"><v>0</v></c>"));
        format!("<row r=\"{line}\">{}</row>", cells.concat())
    });
    let shared = xlsx(
        &shared.collect::<String>(),
        &format!("<si><t>{text}</t></si>"),
    );
    let far =
        (1..=100_000).map(|line| format!("<row r=\"{line}\"><c r=\"IV{line}\"><v>1</v></c></row>"));
    let far = xlsx(&far.collect::<String>(), "");
    let down = ods_row(&[&text]).replace(
        "<table:table-row>",
        "<table:table-row table:number-rows-repeated=\"190000\">",
    );
    let blanks = "<table:table-row><table:table-cell office:value-type=\"string\"><text:p><text:s \
                  text:c=\"99999999999\"/></text:p></table:table-cell></table:table-row>";
    let zeros = vec![b' '; 136 << 20];
    let bomb = packed(&[("xl/workbook.xml", &zeros)]);
    drop(zeros);
    let header = HEADER.join(",");
    let values = format!(
        "{header}\n{}",
        format!("{}\n", "a,".repeat(255)).repeat(100_000)
    );
    let short = format!(
        "{}{}",
        xlsx_row(1, &HEADER),
        xlsx_row(2, &["", "", "collet-2.4", "x"])
    );
    vec![
        ("one.xlsx", shared, 1, "up to line"),
        ("far.xlsx", far, 1, "up to line"),
        ("down.ods", ods(&down, ""), 1, "up to line"),
        ("blanks.ods", ods(blanks, ""), 1, "a cell may have 32768"),
        ("bomb.xlsx", bomb, 1, "unpack to more than"),
        ("values.csv", values.into_bytes(), 1, "up to line"),
        (
            "large.csv",
            vec![b'x'; 1 << 20],
            GIBIBYTE >> 20,
            "over 67108864 bytes",
        ),
        ("good.xlsx", xlsx(&short, ""), 1, "1 need you"),
    ]
}

#[tokio::test(flavor = "multi_thread")]
async fn the_memory_of_the_real_program_is_bounded() {
    let home = Home::new();
    let serving = home.serve();
    if peak(&serving).is_none() {
        let why = "the system tells no peak of memory";
        say(&format!(
            "SKIPPED the_memory_of_the_real_program_is_bounded: {why}"
        ));
        return;
    }
    let key = home.owners_key();
    for (name, file, times, words) in files() {
        let answer = pushed(&serving, &key, name, Arc::new(file), times).await;
        assert!(answer.contains(words), "{name}: {answer}");
        let most = peak(&serving).expect("it runs");
        say(&format!("{name}: {most} MiB at most so far"));
        assert!(most < MOST, "{name}: {most} MiB");
    }
    let (good, _) = serving.stop();
    assert!(good, "it stops well");
}
