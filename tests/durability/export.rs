//! The round trip: a rich shop is exported, imported into an empty database, and answers the same
//! to everything that can be asked. Another reader of CSV reads what was written.

use std::path::{Path, PathBuf};

use serde_json::Value;
use server::service::Clock;
use server::upkeep::{Progress, export::export, import::import, manifest::Manifest};
use tempfile::TempDir;
use tigstock_tests::demo::MONDAY;
use tigstock_tests::{TestServer, instant};
use types::Role;

use crate::shop::{NASTY, REPEATED, WORSE, repeated, rich};

/// An export of a server, in a folder that goes away with it.
pub(crate) struct Exported {
    pub(crate) folder: TempDir,
    pub(crate) manifest: Manifest,
}

impl Exported {
    pub(crate) async fn of(server: &TestServer) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let now = instant(MONDAY);
        let (database, path) = (server.file(), folder.path().join("export"));
        let manifest = export(database, &path, now, Progress::silent()).await;
        let manifest = manifest.expect("it is exported");
        Self { folder, manifest }
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join("export")
    }

    /// Imports it into a new database.
    pub(crate) async fn import(&self) -> Result<PathBuf, String> {
        let database = self.folder.path().join("new.db");
        import(&database, &self.path(), Progress::silent()).await?;
        Ok(database)
    }
}

/// Everything that can be read of a server without naming anything, and what matters most of the rest.
fn questions() -> Vec<String> {
    let document: Value =
        serde_json::from_str(&server::http::openapi::text()).expect("the contract");
    let paths = document["paths"].as_object().expect("paths");
    // Health is of the process, and each server of the test has keys of its own. Events are a stream that
    // has no end; their rows are held against each other with those of all tables.
    let lists = paths.iter().filter(|(path, operations)| {
        operations["get"].is_object()
            && path.starts_with("/v1/")
            && !path.contains('{')
            && *path != "/v1/keys"
            && *path != "/v1/events"
    });
    let mut questions: Vec<String> = lists.map(|(path, _)| path.clone()).collect();
    assert!(questions.len() > 10, "{questions:?}");
    for path in [
        "/v1/forecasts?arc=34h&explain=1",
        "/v1/forecasts?weeks=4&part=own-collet,collet-2.4&site=shop",
        "/v1/jobs/R-118/needs",
        "/v1/jobs/R-118",
        "/v1/stock?site=yard",
        "/v1/stock/own-collet/explanation?site=yard",
        "/v1/stock/WLa20-2.4/explanation",
        "/v1/movements?limit=500",
        "/v1/usage?limit=500",
        "/v1/counts?limit=500",
    ] {
        questions.push(path.to_owned());
    }
    questions
}

async fn answer(server: &TestServer, question: &str) -> (u16, Value) {
    let heard = server.ask("GET", question).send().await;
    // A sheet or a chart is text.
    let text = || Value::String(heard.text());
    let mut body: Value = serde_json::from_slice(&heard.body).unwrap_or_else(|_| text());
    if let Some(problem) = body.as_object_mut() {
        problem.remove("instance");
    }
    (heard.status, body)
}

#[tokio::test(flavor = "multi_thread")]
async fn an_import_answers_everything_as_what_was_exported() {
    let server = rich().await;
    let exported = Exported::of(&server).await;
    let database = exported.import().await.expect("it is imported");
    let imported = TestServer::over(&database, Clock::standing_at(instant(MONDAY))).await;
    let mut answered = 0;
    for question in questions() {
        let (was, is) = (
            answer(&server, &question).await,
            answer(&imported, &question).await,
        );
        assert!(was == is, "{question}\nwas {was:?}\nis {is:?}");
        answered += usize::from(was.0 == 200);
    }
    assert!(answered > 15, "{answered} were answered");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_repeat_of_an_old_entry_is_a_repeat_after_the_import_by_the_same_key() {
    let server = rich().await;
    let exported = Exported::of(&server).await;
    let database = exported.import().await.expect("it is imported");
    let imported = TestServer::over(&database, Clock::standing_at(instant(MONDAY))).await;
    let body = serde_json::to_value(repeated()).expect("JSON");
    let tell = async |at: &TestServer| {
        let ask = at.ask_as(server.key(Role::Own), "POST", "/v1/usage");
        ask.once(REPEATED).json(&body).send().await
    };
    let rows = imported.rows().await;
    let (was, is) = (tell(&server).await, tell(&imported).await);
    assert!((200..300).contains(&is.status), "{}", is.text());
    assert_eq!((was.status, was.body), (is.status, is.body));
    assert_eq!(imported.rows().await, rows);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_export_of_the_import_is_the_same_export() {
    let server = rich().await;
    let first = Exported::of(&server).await;
    let database = first.import().await.expect("it is imported");
    let folder = first.folder.path().join("second");
    let now = instant(MONDAY);
    let second = export(&database, &folder, now, Progress::silent()).await;
    assert_eq!(second.expect("it is exported"), first.manifest);
}

/// The rows of a sheet as another library reads them, with their names first.
fn read(file: &Path) -> Vec<Vec<String>> {
    let reader = csv::ReaderBuilder::new().has_headers(false).from_path(file);
    let records = reader.expect("a file").into_records();
    records
        .map(|record| {
            record
                .expect("a record")
                .iter()
                .map(str::to_owned)
                .collect()
        })
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn another_reader_of_csv_reads_the_rows_that_the_manifest_counts() {
    let server = rich().await;
    let exported = Exported::of(&server).await;
    for sheet in &exported.manifest.tables {
        let rows = read(&exported.path().join(&sheet.file));
        let names: Vec<&str> = sheet.columns.iter().map(|it| it.name.as_str()).collect();
        assert_eq!(rows[0], names, "{}", sheet.name);
        assert_eq!(rows.len() as u64 - 1, sheet.rows, "{}", sheet.name);
    }
    for (file, column, text) in [("parts.csv", "note", NASTY), ("kits.csv", "name", WORSE)] {
        let rows = read(&exported.path().join(file));
        let place = rows[0].iter().position(|name| name == column).expect("it");
        assert!(rows.iter().any(|row| row[place] == text), "{rows:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_hashes_of_the_manifest_are_those_of_another_program() {
    let server = TestServer::at(MONDAY).await;
    let exported = Exported::of(&server).await;
    let sheet = exported.manifest.tables.iter().find(|it| it.name == "kits");
    let sheet = sheet.expect("the table of kits");
    // printf 'id,code,code_key,name,version\r\n' | sha256sum
    let expected = "0757e65164cd5e25894cd802c599fc7e62271cb3dfc73d23525c9d57308bfbba";
    assert_eq!((sheet.rows, sheet.sha256.as_str()), (0, expected));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_folder_that_holds_something_is_not_exported_into() {
    let server = TestServer::at(MONDAY).await;
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("mine.txt"), "mine").expect("a file");
    let (now, silent) = (instant(MONDAY), Progress::silent());
    let refused = export(server.file(), folder.path(), now, silent).await;
    let why = refused.expect_err("it is not empty");
    assert!(why.contains("not an empty folder"), "{why}");
    let left = std::fs::read_dir(folder.path()).expect("a folder").count();
    assert_eq!(left, 1);
}
