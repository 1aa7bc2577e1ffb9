//! Usage that is acknowledged only when it is on disk, against single commits of the bare database:
//! the same engine with the same settings, one row and one change of a level a transaction.

use std::sync::Arc;
use std::time::Instant;

use sea_orm::{ConnectionTrait, DbBackend, Statement, Value};
use server::store::Store;
use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode, gas_lens, torch};
use types::{NewSetUp, Role};

use crate::load::{self, Maker};
use crate::{Pair, ROUNDS, report};

/// Single commits of the baseline.
const COMMITS: u32 = 2_000;

pub(crate) async fn measure() {
    let server = shop().await;
    let bare = Bare::open().await;
    for (name, target, connections, each) in [
        ("usage_posts_64", 1.2, 64, 100),
        ("usage_posts_1", 0.5, 1, 1_000),
    ] {
        let mut pairs = Vec::new();
        for round in 0..ROUNDS {
            let baseline = bare.commits_per_second().await;
            let make = posts(&server, format!("{name}-{round}"));
            let subject = load::per_second(&server.url, connections, each, make).await;
            pairs.push(Pair { baseline, subject });
        }
        report(name, target, "posts a second", &pairs);
    }
    server.stop().await;
}

/// A server with one torch, three parts fitted in it.
pub(crate) async fn shop() -> TestServer {
    let server = TestServer::start().await;
    let parts = [
        electrode("rod", "2.4 mm"),
        collet("collet"),
        gas_lens("lens"),
    ];
    for part in &parts {
        server.owner.create_part(part).await.expect("a part");
    }
    let made = server
        .owner
        .create_torch(&torch("T1"))
        .await
        .expect("a torch");
    let fitted = NewSetUp {
        parts: parts.iter().map(|part| part.code.clone()).collect(),
    };
    server
        .owner
        .replace_set_up("T1", &fitted, made.version)
        .await
        .expect("a set-up");
    server
}

/// Posts of arc time and grinds, every second one with an electrode taken.
fn posts(server: &TestServer, run: String) -> Maker {
    let key = server.key(Role::Log).to_owned();
    Arc::new(move |connection, number| {
        let took = if number % 2 == 0 {
            r#","what":"took""#
        } else {
            ""
        };
        let body = format!(r#"{{"torch":"T1","arc_minutes":15,"grinds":1{took}}}"#);
        format!(
            "POST /v1/usage HTTP/1.1\r\nHost: bench\r\nAuthorization: Bearer {key}\r\n\
             Idempotency-Key: {run}-{connection}-{number}\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\n\r\n{body}",
            body.len()
        )
    })
}

/// The bare database.
struct Bare {
    store: Store,
    _folder: tempfile::TempDir,
}

impl Bare {
    async fn open() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("bare.db"))
            .await
            .expect("a database");
        let tx = store.begin().await.expect("a transaction");
        for table in [
            "CREATE TABLE bare_rows (id INTEGER PRIMARY KEY, part INTEGER, quantity INTEGER, at INTEGER, key TEXT UNIQUE)",
            "CREATE INDEX bare_rows_part ON bare_rows (part, at)",
            "CREATE TABLE bare_levels (part INTEGER PRIMARY KEY, on_hand INTEGER)",
            "INSERT INTO bare_levels VALUES (1, 0)",
        ] {
            tx.execute_unprepared(table).await.expect("a table");
        }
        tx.commit().await.expect("a commit");
        Self {
            store,
            _folder: folder,
        }
    }

    /// One row and one level a transaction, each flushed.
    async fn commits_per_second(&self) -> f64 {
        let begun = Instant::now();
        for _ in 0..COMMITS {
            let tx = self.store.begin().await.expect("a transaction");
            let key = uuid::Uuid::now_v7().to_string();
            let row = "INSERT INTO bare_rows (part, quantity, at, key) VALUES (1, 1, 1, ?)";
            let row = Statement::from_sql_and_values(DbBackend::Sqlite, row, [Value::from(key)]);
            tx.execute_raw(row).await.expect("a row");
            let level = "UPDATE bare_levels SET on_hand = on_hand + 1 WHERE part = 1";
            tx.execute_raw(Statement::from_string(DbBackend::Sqlite, level))
                .await
                .expect("a level");
            tx.commit().await.expect("a commit");
        }
        f64::from(COMMITS) / begun.elapsed().as_secs_f64()
    }
}
