//! What an import refuses: an export that is not whole, that was changed, or that does not agree with
//! itself. It names file, line, column and value, says what to do, and leaves nothing behind.

use std::io::Read;
use std::path::{Path, PathBuf};

use server::upkeep::manifest::{Hashed, Manifest};
use server::upkeep::{Progress, import::import};
use tigstock_tests::builders::electrode;
use tigstock_tests::{TestServer, demo::MONDAY};

use crate::export::Exported;

/// A small shop: two parts counted, a torch, three entries of use.
async fn exported() -> Exported {
    let server = TestServer::at(MONDAY).await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 9).await;
    server.stocked(electrode("WLa20-1.6", "1.6 mm"), 4).await;
    server.torch("T1", &["WLa20-2.4"]).await;
    for key in ["K1", "K2", "K3"] {
        server.take("WLa20-2.4", key).await;
    }
    Exported::of(&server).await
}

/// Changes a sheet; gives its path.
fn change(exported: &Exported, file: &str, change: impl Fn(&str) -> String) -> PathBuf {
    let path = exported.path().join(file);
    let text = std::fs::read_to_string(&path).expect("the sheet");
    let changed = change(&text);
    assert_ne!(text, changed, "{file} is the same");
    std::fs::write(&path, changed).expect("it is written");
    path
}

/// Makes the manifest agree with a sheet that was changed.
fn agree(exported: &Exported, file: &str) {
    let mut manifest = Manifest::read(&exported.path()).expect("the manifest");
    let mut hashed = Hashed::new(std::fs::File::open(exported.path().join(file)).expect("it"));
    let mut text = String::new();
    hashed.read_to_string(&mut text).expect("it is text");
    let sheet = manifest.tables.iter_mut().find(|it| it.file == file);
    let sheet = sheet.expect("the sheet");
    sheet.rows = text.lines().count() as u64 - 1;
    sheet.sha256 = hashed.finish().1;
    manifest.write(&exported.path()).expect("it is written");
}

/// The words of a refusal, after which nothing is left behind.
async fn refused(exported: &Exported) -> String {
    let why = exported.import().await.expect_err("it is refused");
    let mut left: Vec<_> = std::fs::read_dir(exported.folder.path())
        .expect("the folder")
        .map(|it| it.expect("an entry").file_name())
        .collect();
    left.sort();
    assert_eq!(left, ["export"], "{why}");
    why
}

/// Puts a field in place of the one in that column of that line.
fn field(text: &str, line: usize, column: &str, value: &str) -> String {
    let mut lines: Vec<String> = text.split_inclusive("\r\n").map(str::to_owned).collect();
    let names: Vec<&str> = lines[0].trim_end().split(',').collect();
    let place = names.iter().position(|name| *name == column).expect("it");
    let row = lines[line - 1].trim_end().to_owned();
    let mut fields: Vec<&str> = row.split(',').collect();
    fields[place] = value;
    lines[line - 1] = format!("{}\r\n", fields.join(","));
    lines.concat()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_value_of_another_kind_is_told_by_file_line_column_and_value() {
    for (file, column, value, words) in [
        (
            "movements.csv",
            "quantity",
            "many",
            "\"many\" is not a whole number",
        ),
        ("movements.csv", "entry_id", "7", "\"7\" is not a UUID"),
        (
            "entries.csv",
            "history",
            "1",
            "\"1\" is neither true nor false",
        ),
        ("entries.csv", "kind", "", "nothing is missing"),
        (
            "counts.csv",
            "counted",
            "9223372036854775808",
            "digits only",
        ),
    ] {
        let exported = exported().await;
        let path = change(&exported, file, |text| field(text, 3, column, value));
        let why = refused(&exported).await;
        let start = format!("{}, line 3, column {column}: ", path.display());
        assert!(why.starts_with(&start) && why.contains(words), "{why}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_that_was_changed_is_told_by_its_hash() {
    let exported = exported().await;
    let path = change(&exported, "parts.csv", |text| {
        text.replace("WLa20-1.6", "WLa20-1.7")
    });
    let why = refused(&exported).await;
    assert!(why.starts_with(&path.display().to_string()), "{why}");
    assert!(
        why.contains("SHA-256") && why.contains("take the one that was exported"),
        "{why}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn rows_that_are_missing_and_files_that_are_not_there_are_told() {
    let exported = exported().await;
    change(&exported, "movements.csv", |text| {
        let rows: Vec<&str> = text.split_inclusive("\r\n").collect();
        rows[..rows.len() - 1].concat()
    });
    let why = refused(&exported).await;
    assert!(
        why.contains("movements.csv: 2 rows, and the manifest says 3"),
        "{why}"
    );
    std::fs::remove_file(exported.path().join("counts.csv")).expect("it is removed");
    let why = refused(&exported).await;
    assert!(
        why.contains("counts.csv") && why.contains("export again"),
        "{why}"
    );
    std::fs::remove_file(exported.path().join("manifest.json")).expect("it is removed");
    let why = refused(&exported).await;
    assert!(why.contains("manifest.json"), "{why}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_line_that_is_no_record_is_told() {
    for (line, words) in [
        ("a,b\r\n", "2 fields; give"),
        ("\"a\r\n", "never closed"),
        ("a\"b\r\n", "quotation mark"),
    ] {
        let exported = exported().await;
        change(&exported, "movements.csv", |text| format!("{text}{line}"));
        let why = refused(&exported).await;
        assert!(
            why.contains("movements.csv, line 5") && why.contains(words),
            "{why}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reference_to_nothing_is_told_by_its_line() {
    let exported = exported().await;
    change(&exported, "movements.csv", |text| {
        field(text, 4, "part_id", "77")
    });
    agree(&exported, "movements.csv");
    let why = refused(&exported).await;
    let words = "movements.csv, line 4, column part_id: \"77\" is not in parts.csv";
    assert!(why.contains(words), "{why}");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_may_stand_only_once_is_told_by_its_line() {
    let exported = exported().await;
    change(&exported, "parts.csv", |text| {
        field(text, 3, "code_key", "wla20-2.4")
    });
    agree(&exported, "parts.csv");
    let why = refused(&exported).await;
    assert!(
        why.contains("parts.csv, line 3: another line has the same"),
        "{why}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn levels_that_do_not_follow_from_the_ledger_are_refused() {
    for (file, column, words) in [
        (
            "levels.csv",
            "on_hand",
            "1 rows of levels.csv and 0 of wear.csv",
        ),
        (
            "wear.csv",
            "events",
            "0 rows of levels.csv and 1 of wear.csv",
        ),
    ] {
        let exported = exported().await;
        change(&exported, file, |text| field(text, 2, column, "70"));
        agree(&exported, file);
        let why = refused(&exported).await;
        assert!(why.contains(words) && why.contains("rebuild"), "{why}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_export_of_a_newer_version_or_format_is_told() {
    let exported = exported().await;
    let manifest = Manifest::read(&exported.path()).expect("the manifest");
    let newer = Manifest {
        schema: "m99991231_000001_later".to_owned(),
        ..manifest.clone()
    };
    newer.write(&exported.path()).expect("it is written");
    let why = refused(&exported).await;
    assert!(
        why.contains("m99991231_000001_later") && why.contains("newer"),
        "{why}"
    );
    let newer = Manifest {
        format: 2,
        ..manifest
    };
    newer.write(&exported.path()).expect("it is written");
    let why = refused(&exported).await;
    assert!(why.contains("format 2 is not known here"), "{why}");
}

async fn into(database: &Path, exported: &Exported) -> Result<(), String> {
    let imported = import(database, &exported.path(), Progress::silent()).await;
    imported.map(|_| ())
}

#[tokio::test(flavor = "multi_thread")]
async fn only_an_empty_database_is_filled() {
    let exported = exported().await;
    let folder = tempfile::tempdir().expect("a folder");
    let database = folder.path().join("shop.db");
    into(&database, &exported).await.expect("there was none");
    let why = into(&database, &exported).await.expect_err("it is full");
    assert!(
        why.contains("is not empty: its table") && why.contains("--database"),
        "{why}"
    );
    let empty = folder.path().join("empty.db");
    let store = server::store::Store::open(&empty)
        .await
        .expect("a database");
    store.close().await.expect("it closes");
    into(&empty, &exported).await.expect("it is empty");
}
