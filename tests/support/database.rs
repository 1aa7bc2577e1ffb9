//! A database of its own for each test: a file in a temporary folder, or, where the variable
//! `TIGSTOCK_TEST_DATABASE` has the address of a PostgreSQL server whose account may make databases, one there.
//! The migrations run once for a program of tests; each test gets a copy of what they made.

use std::io::Write;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

use sea_orm::{ConnectOptions, ConnectionTrait, Database, DatabaseConnection};
use server::store::{Location, Store};
use tempfile::TempDir;
use tokio::sync::OnceCell;

/// The variable that has the address of the server.
const VARIABLE: &str = "TIGSTOCK_TEST_DATABASE";

/// A database that goes away with the value.
#[derive(Debug)]
pub struct Scratch {
    location: Location,
    place: Place,
}

#[derive(Debug)]
enum Place {
    Folder { _folder: TempDir },
    Server { server: String, name: String },
}

impl Scratch {
    /// One with nothing in it but what the migrations make.
    pub async fn new() -> Self {
        static TEMPLATE: OnceCell<String> = OnceCell::const_new();
        let Some(server) = server() else {
            return Self::file();
        };
        let template = TEMPLATE.get_or_init(|| template(&server)).await;
        let name = next_name();
        let sql = format!("CREATE DATABASE {name} TEMPLATE {template}");
        run(&server, &sql).await;
        Self::on(server, name)
    }

    /// One with nothing in it at all.
    pub async fn empty() -> Self {
        let Some(server) = server() else {
            return Self::file();
        };
        let name = next_name();
        run(&server, &create(&name)).await;
        Self::on(server, name)
    }

    /// One with what another has in it, which may be in use.
    ///
    /// # Panics
    /// It cannot be copied.
    pub async fn copy_of(location: &Location) -> Self {
        let Some(file) = location.file() else {
            return Self::copy_on_server(location).await;
        };
        let copy = Self::file();
        let to = copy.location.file().expect("a file");
        std::fs::copy(file, to).expect("a copy");
        copy
    }

    /// Quickly where nobody uses what is copied; a database in use is no template.
    async fn copy_on_server(location: &Location) -> Self {
        let from = address(location);
        let (server, name) = (server().expect("a server"), next_name());
        let (_, template) = from.rsplit_once('/').expect("a name");
        let db = connect(&server).await;
        let sql = format!("CREATE DATABASE {name} TEMPLATE {template}");
        let copied = db.execute_unprepared(&sql).await;
        db.close().await.expect("it closes");
        if copied.is_ok() {
            return Self::on(server, name);
        }
        let copy = Self::empty().await;
        copy_server(&from, &copy.address());
        copy
    }

    /// A file, whatever the variable says: for what is about files.
    pub fn file() -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        Self {
            location: Location::from(&folder.path().join("test.db")),
            place: Place::Folder { _folder: folder },
        }
    }

    fn on(server: String, name: String) -> Self {
        Self {
            location: named(&server, &name).parse().expect("an address"),
            place: Place::Server { server, name },
        }
    }

    /// Where it is.
    pub fn location(&self) -> &Location {
        &self.location
    }

    /// Where it is, as a program is told of it.
    pub fn address(&self) -> String {
        match &self.place {
            Place::Folder { .. } => self.location.to_string(),
            Place::Server { server, name } => named(server, name),
        }
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let Place::Server { server, name } = &self.place else {
            return;
        };
        let drop = format!("DROP DATABASE IF EXISTS {name} WITH (FORCE)");
        let server = server.clone();
        // A thread, since a test that ends may be in the middle of whatever runtime it has.
        let dropping = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build()
                .expect("a runtime");
            runtime.block_on(run(&server, &drop));
        });
        // A test that fails for another reason is to say that one.
        let _ = dropping.join();
    }
}

/// The address of the server, if tests are to run there.
pub fn server() -> Option<String> {
    std::env::var(VARIABLE).ok().filter(|told| !told.is_empty())
}

/// Whether what follows is about a database file and does not run now, which is said.
pub fn is_without_file(why: &str) -> bool {
    is_left_out(server().is_some(), "FILE ONLY", why)
}

/// Whether what follows is about a server of databases and does not run now, which is said.
pub fn is_without_server(why: &str) -> bool {
    is_left_out(server().is_none(), "POSTGRESQL ONLY", why)
}

fn is_left_out(left_out: bool, what: &str, why: &str) -> bool {
    if left_out {
        // The output of a test; if it cannot be written, nobody reads it.
        let _ = writeln!(std::io::stdout(), "{what}: {why}");
    }
    left_out
}

/// Of a process, so that programs of tests may run side by side.
fn next_name() -> String {
    static NEXT: AtomicU32 = AtomicU32::new(0);
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    format!("tigstock_test_{}_{number}", std::process::id())
}

async fn template(server: &str) -> String {
    let name = next_name();
    run(server, &create(&name)).await;
    let location: Location = named(server, &name).parse().expect("an address");
    let store = Store::open(&location).await.expect("a database");
    store.close().await.expect("it closes");
    name
}

/// In an order of text that is not that of bytes, so that what relies on one is found out.
fn create(name: &str) -> String {
    format!(
        "CREATE DATABASE {name} TEMPLATE template0 ENCODING 'UTF8' LOCALE_PROVIDER icu ICU_LOCALE 'en-US' \
         LC_COLLATE 'C' LC_CTYPE 'C'"
    )
}

/// The address with another database in it.
fn named(server: &str, name: &str) -> String {
    let (front, query) = server.split_once('?').unwrap_or((server, ""));
    let (front, _) = front.rsplit_once('/').expect("an address with a database");
    match query {
        "" => format!("{front}/{name}"),
        query => format!("{front}/{name}?{query}"),
    }
}

/// The address of a database of the tests, which as told has no password in it.
fn address(location: &Location) -> String {
    let told = location.to_string();
    let (_, name) = told.rsplit_once('/').expect("a name");
    named(&server().expect("a server"), name)
}

async fn connect(server: &str) -> DatabaseConnection {
    let mut options = ConnectOptions::new(server.to_owned());
    options.max_connections(1).sqlx_logging(false);
    Database::connect(options).await.expect("a server")
}

async fn run(server: &str, sql: &str) {
    let db = connect(server).await;
    let done = db.execute_unprepared(sql).await;
    db.close().await.expect("it closes");
    done.expect("it is done");
}

/// By the programs that the server comes with.
fn copy_server(from: &str, to: &str) {
    let mut dump = Command::new("pg_dump")
        .args(["--format=custom", "--dbname", from])
        .stdout(Stdio::piped())
        .spawn()
        .expect("pg_dump starts");
    let told = dump.stdout.take().expect("what it tells");
    let restored = Command::new("pg_restore")
        .args(["--no-owner", "--exit-on-error", "--dbname", to])
        .stdin(told)
        .status()
        .expect("pg_restore starts");
    assert!(restored.success(), "it is not restored");
    assert!(dump.wait().expect("pg_dump ends").success());
}
