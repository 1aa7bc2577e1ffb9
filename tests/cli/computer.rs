//! A person's computer: its folders, its clock, and the command line typed on it.

use std::ffi::OsString;
use std::io::Cursor;
use std::path::PathBuf;
use std::sync::Arc;

use chrono::{DateTime, FixedOffset};
use cli::{Env, Zone};
use tempfile::TempDir;
use tigstock_tests::TestServer;
use tigstock_tests::demo::MONDAY;
use types::Role;

/// The computer. Its clock stands on the Monday of scenario S5 unless told.
#[derive(Clone, Debug)]
pub(crate) struct Computer {
    folder: Arc<TempDir>,
    server: String,
    key: String,
    now: DateTime<FixedOffset>,
}

/// What a command printed, and how it ended.
#[derive(Debug)]
pub(crate) struct Told {
    pub(crate) code: u8,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Computer {
    /// A computer whose key may keep stock.
    pub(crate) fn of(server: &TestServer) -> Self {
        Self::calling(&server.url, server.key(Role::Keep))
    }

    /// A computer that calls that address with that key.
    pub(crate) fn calling(url: &str, key: &str) -> Self {
        Self {
            folder: Arc::new(tempfile::tempdir().expect("a folder")),
            server: url.to_owned(),
            key: key.to_owned(),
            now: DateTime::parse_from_rfc3339(MONDAY).expect("an instant"),
        }
    }

    /// The same computer with another key.
    pub(crate) fn with_key(&self, key: &str) -> Self {
        Self {
            key: key.to_owned(),
            ..self.clone()
        }
    }

    /// The same computer at another instant.
    pub(crate) fn at(&self, now: &str) -> Self {
        Self {
            now: DateTime::parse_from_rfc3339(now).expect("an instant"),
            ..self.clone()
        }
    }

    /// Runs a command line; words are parted by blanks.
    pub(crate) async fn run(&self, line: &str) -> Told {
        let words: Vec<&str> = line.split_whitespace().collect();
        self.run_words(&words).await
    }

    /// Runs a command line of those words, which may have blanks in them.
    pub(crate) async fn run_words(&self, words: &[&str]) -> Told {
        let words: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
        let computer = self.clone();
        let running = tokio::task::spawn_blocking(move || computer.run_here(&words));
        running.await.expect("it does not panic")
    }

    fn run_here(&self, words: &[String]) -> Told {
        let mut env = Env {
            now: self.now,
            zone: Zone::Fixed(*self.now.offset()),
            server: Some(self.server.clone()),
            key: Some(self.key.clone()),
            profile: Some(self.folder.path().join("client.toml")),
            state: Some(self.state()),
            is_terminal: false,
            input: Box::new(Cursor::new(Vec::new())),
        };
        let args = std::iter::once("tigstock").chain(words.iter().map(String::as_str));
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let code = cli::run(args.map(OsString::from), &mut out, &mut err, &mut env);
        let text = |bytes| String::from_utf8(bytes).expect("it is text");
        Told {
            code,
            out: text(out),
            err: text(err),
        }
    }

    /// The folder for what is kept between commands.
    pub(crate) fn state(&self) -> PathBuf {
        self.folder.path().join("state")
    }

    /// How many entries wait.
    pub(crate) fn waiting(&self) -> usize {
        let queue = std::fs::read_to_string(self.state().join("queue.jsonl"));
        queue.map_or(0, |text| text.lines().count())
    }
}
