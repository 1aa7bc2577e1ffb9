//! The two programs as they are built, and a home for them: an environment with nothing of the
//! person who runs the tests, and a folder of its own for everything they may write.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::LazyLock;
use std::sync::mpsc::{self, Receiver};
use std::time::Duration;

use serde_json::Value;
use tempfile::TempDir;

/// How long a program may take to say what a test waits for; it fails the test, and paces nothing.
const PATIENCE: Duration = Duration::from_mins(1);

/// The folder of the programs. They are built first, since a test may run before anybody did.
static FOLDER: LazyLock<PathBuf> = LazyLock::new(|| {
    let test = std::env::current_exe().expect("the path of this test");
    // target/debug/deps/cli-..., or target/debug/crash
    let mut folder = test.parent().expect("a folder");
    if folder.ends_with("deps") {
        folder = folder.parent().expect("a folder of a profile");
    }
    let target = folder.parent().expect("a target folder");
    let mut build = Command::new(env!("CARGO"));
    build
        .args([
            "build",
            "--quiet",
            "-p",
            "tigstock-server",
            "-p",
            "tigstock-cli",
        ])
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."))
        .arg("--target-dir")
        .arg(target);
    if folder.ends_with("release") {
        build.arg("--release");
    }
    let status = build.status().expect("cargo starts");
    assert!(status.success(), "the programs cannot be built");
    folder.to_owned()
});

/// A home with four empty folders: to work in, for temporary files, for configuration, for data.
#[derive(Debug)]
pub struct Home {
    folder: TempDir,
}

impl Home {
    /// An empty one.
    #[expect(
        clippy::new_without_default,
        reason = "it makes folders, which no default should"
    )]
    pub fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        for name in ["work", "tmp", "config", "data"] {
            std::fs::create_dir(folder.path().join(name)).expect("a folder");
        }
        Self { folder }
    }

    /// A path in it.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Whatever is in one of its folders.
    pub fn holds(&self, name: &str) -> Vec<String> {
        let entries = std::fs::read_dir(self.path(name)).expect("a folder");
        let names = entries.map(|it| it.expect("an entry").file_name());
        names.map(|it| it.to_string_lossy().into_owned()).collect()
    }

    /// The command line.
    pub fn tigstock(&self) -> Command {
        self.program("tigstock")
    }

    /// The service.
    pub fn server(&self) -> Command {
        self.program("tigstock-server")
    }

    /// A program of ours, by its name.
    pub fn file_of(name: &str) -> PathBuf {
        FOLDER.join(format!("{name}{}", std::env::consts::EXE_SUFFIX))
    }

    fn program(&self, name: &str) -> Command {
        self.command(&Self::file_of(name))
    }

    /// Any program, with this home for its environment.
    pub fn command(&self, program: &Path) -> Command {
        let mut command = Command::new(program);
        command
            .env_clear()
            .current_dir(self.path("work"))
            .env("HOME", self.folder.path())
            .env("TMPDIR", self.path("tmp"))
            .env("XDG_CONFIG_HOME", self.path("config"))
            .env("XDG_DATA_HOME", self.path("data"))
            // Nothing listens there: who would call the outside would fail.
            .env("http_proxy", "http://127.0.0.1:9")
            .env("https_proxy", "http://127.0.0.1:9")
            .stdin(Stdio::null());
        command
    }

    /// The owner's key, as the first start left it.
    pub fn owners_key(&self) -> String {
        let profile = std::fs::read_to_string(self.path("config/tigstock/client.toml"));
        let profile = profile.expect("the profile of the first start");
        let key = profile
            .lines()
            .find_map(|line| line.strip_prefix("key = \"")?.strip_suffix('"'));
        key.expect("the owner's key").to_owned()
    }

    /// Starts the service on a free port, with its data where the platform has them.
    pub fn serve(&self) -> Serving {
        Serving::start(self.server().args(["serve", "--listen", "127.0.0.1:0"]))
    }
}

/// Runs a program to its end: whether it did its work, and what it said on both streams.
pub fn ended(command: &mut Command) -> (bool, String, String) {
    let Output {
        status,
        stdout,
        stderr,
    } = command.output().expect("it starts");
    let text = |bytes| String::from_utf8(bytes).expect("it is text");
    (status.success(), text(stdout), text(stderr))
}

/// A service that runs; it is killed with the test.
#[derive(Debug)]
pub struct Serving {
    child: Child,
    log: Receiver<String>,
    /// Where it listens.
    pub url: String,
}

impl Serving {
    /// Starts a service and waits until it says that it serves.
    pub fn start(command: &mut Command) -> Self {
        let mut child = command
            .args(["--log-format", "json"])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it starts");
        let stderr = BufReader::new(child.stderr.take().expect("its log"));
        let (say, log) = mpsc::channel();
        std::thread::spawn(move || {
            for line in stderr.lines().map_while(Result::ok) {
                if say.send(line).is_err() {
                    break;
                }
            }
        });
        let mut serving = Self {
            child,
            log,
            url: String::new(),
        };
        let line = serving.line_with("\"serving\"");
        let line: Value = serde_json::from_str(&line).expect("a line is JSON");
        let address = line["fields"]["address"].as_str().expect("an address");
        serving.url = format!("http://{address}");
        serving
    }

    /// Waits for a line of the log that holds those words.
    fn line_with(&self, words: &str) -> String {
        loop {
            let line = self.log.recv_timeout(PATIENCE);
            let line = line.expect("it says so while it runs");
            if line.contains(words) {
                return line;
            }
        }
    }

    /// The number of the process.
    pub fn id(&self) -> String {
        self.child.id().to_string()
    }

    /// Ends it at once, as a loss of power of the process would.
    pub fn kill(mut self) {
        self.child.kill().expect("it is ours");
        self.child.wait().expect("it is ours");
    }

    /// Asks it to stop, and waits for its end: whether that was a good one, and what it printed.
    pub fn stop(self) -> (bool, String) {
        let (good, out, _) = self.stop_with_log();
        (good, out)
    }

    /// The same, with what it has logged since it serves.
    pub fn stop_with_log(mut self) -> (bool, String, Vec<String>) {
        let asked = Command::new("kill").args(["-TERM", &self.id()]).status();
        assert!(asked.expect("kill starts").success());
        let status = self.child.wait().expect("it is ours");
        let out = self.child.stdout.take().expect("its answers");
        let out = std::io::read_to_string(out).expect("it is text");
        (status.success(), out, self.log.iter().collect())
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        // It may have ended by itself, which is as good.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
