//! `forecast --track-record`: how far past forecasts could be trusted. The figures are tested in `http`.

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::demo::{MONDAY, furnished};
use types::TrackRecords;

use crate::computer::Computer;

const LINE: &str = "forecast WLa20-2.4 --track-record";

#[tokio::test(flavor = "multi_thread")]
async fn a_record_is_a_table_of_methods_and_a_few_sentences() {
    let server = furnished().await;
    let told = Computer::of(&server).run(LINE).await;
    assert_eq!((told.code, &*told.err), (0, ""), "{told:?}");
    let rows: Vec<&str> = told.out.lines().collect();
    assert!(rows[0].contains("90 % range"), "{}", rows[0]);
    for (row, method) in rows[2..].iter().zip([
        "the wear rate of this service",
        "the average of the last twelve",
        "Croston's method",
        "the method of Syntetos and Boylan",
        "the method of Teunter, Syntetos and Babai",
    ]) {
        assert!(row.contains(method) && row.contains(" %"), "{row}");
    }
    assert!(
        told.out
            .contains("9 in 10 should have what was used then within their 90 % range"),
        "{}",
        told.out
    );
    assert!(told.out.contains("Each forecast knew what came before it"));
}

#[tokio::test(flavor = "multi_thread")]
async fn json_is_what_the_service_answers_and_csv_has_a_row_a_method() {
    let server = furnished().await;
    let computer = Computer::of(&server);
    let told = computer
        .run(&format!(
            "{LINE} --period month --ahead 2 --explain --format json"
        ))
        .await;
    assert_eq!((told.code, &*told.err), (0, ""), "{told:?}");
    let records: TrackRecords = serde_json::from_str(&told.out).expect("it is JSON");
    assert_eq!((&*records.period, records.ahead), ("month", 2));
    let record = &records.records[0];
    let each = record.each.as_deref().expect("it was asked for");
    assert_eq!(each.len(), usize::try_from(record.forecasts).expect("few"));
    let told = computer.run(&format!("{LINE} --format csv")).await;
    let mut reader = csv::Reader::from_reader(told.out.as_bytes());
    let rows = reader.records().map(|row| row.expect("a row"));
    assert_eq!(rows.count(), 1 + record.methods.len());
}

#[tokio::test(flavor = "multi_thread")]
async fn the_chart_is_written_to_a_file_that_is_told() {
    let server = furnished().await;
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("record.svg");
    let line = format!("{LINE} --chart {}", file.display());
    let told = Computer::of(&server).run(&line).await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(told.err, format!("The chart is in {}.\n", file.display()));
    let text = std::fs::read_to_string(&file).expect("the file is there");
    let chart = roxmltree::Document::parse(&text).expect("well-formed XML");
    assert_eq!(chart.root_element().tag_name().name(), "svg");
    let nowhere = folder.path().join("no").join("record.svg");
    let line = format!("{LINE} --chart {}", nowhere.display());
    let told = Computer::of(&server).run(&line).await;
    assert_eq!(told.code, 74, "{told:?}");
    assert!(
        told.err.contains("cannot be written; name another file"),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn where_nothing_can_be_told_yet_it_ends_with_3_and_writes_no_chart() {
    let server = TestServer::at(MONDAY).await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("record.svg");
    let computer = Computer::of(&server);
    let line = format!("{LINE} --chart {}", file.display());
    let told = computer.run(&line).await;
    assert_eq!(told.code, 3, "{told:?}");
    assert!(
        told.out
            .starts_with("Cannot tell for WLa20-2.4: nothing is logged of it yet"),
        "{told:?}"
    );
    assert!(told.err.contains("No chart is written"), "{told:?}");
    assert!(!file.exists());
    let told = computer.run(&format!("{LINE} --format json")).await;
    let records: TrackRecords = serde_json::from_str(&told.out).expect("it is JSON");
    assert_eq!((told.code, records.cannot_tell.len()), (3, 1));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_command_line_that_makes_no_sense_is_refused() {
    let server = TestServer::at(MONDAY).await;
    let computer = Computer::of(&server);
    for line in [
        "forecast WLa20-2.4 --track-record --arc 34h",
        "forecast WLa20-2.4 --track-record --period fortnight",
        "forecast WLa20-2.4 --arc 34h --chart record.svg",
        "forecast WLa20-2.4 --arc 34h --ahead 2",
        "forecast --track-record --chart record.svg",
        "forecast a b --track-record --chart record.svg",
    ] {
        let told = computer.run(line).await;
        assert_eq!(told.code, 64, "{line}: {told:?}");
    }
    let told = computer.run(&format!("{LINE} --ahead 0")).await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(
        told.err.contains("ahead: 0 is out of range; give 1 to 12"),
        "{told:?}"
    );
}
