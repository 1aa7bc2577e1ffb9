//! Whole command lines against a service that a test scripts, over a real socket.

mod service;

use std::io::Cursor;
use std::path::Path;

use chrono::DateTime;
use serde_json::{Value, json};

use super::*;
use crate::failure::exit;
use service::Service;

/// A person's computer: its folder of data, and the clock at 14:02 in Halifax.
struct Computer {
    folder: tempfile::TempDir,
    server: String,
}

/// What a command printed, and how it ended.
#[derive(Debug)]
struct Told {
    code: u8,
    out: String,
    err: String,
}

impl Computer {
    fn with(server: &str) -> Self {
        Self {
            folder: tempfile::tempdir().expect("a folder"),
            server: server.to_owned(),
        }
    }

    fn env(&self) -> Env {
        let now = DateTime::parse_from_rfc3339("2026-05-11T14:02:10-03:00").expect("an instant");
        Env {
            now,
            zone: Zone::Fixed(*now.offset()),
            server: Some(self.server.clone()),
            key: None,
            profile: Some(self.folder.path().join("client.toml")),
            state: Some(self.folder.path().join("state")),
            is_terminal: false,
            input: Box::new(Cursor::new(Vec::new())),
        }
    }

    fn run(&self, line: &str) -> Told {
        run_with(line, &mut self.env())
    }

    fn has(&self, name: &str) -> bool {
        let path = self.folder.path().join("state").join(name);
        Path::new(&path).metadata().is_ok_and(|file| file.len() > 0)
    }
}

fn run_with(line: &str, env: &mut Env) -> Told {
    let args = std::iter::once("tigstock")
        .chain(line.split_whitespace())
        .map(OsString::from);
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(args, &mut out, &mut err, env);
    let text = |bytes| String::from_utf8(bytes).expect("it is text");
    Told {
        code,
        out: text(out),
        err: text(err),
    }
}

/// An address where nothing listens: the port was free a moment ago.
fn nowhere() -> String {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a free port");
    format!("http://{}", listener.local_addr().expect("it is bound"))
}

fn recorded(says: &str) -> Value {
    json!({
        "entry": "01890a5d-ac96-774b-bcce-b302099a8057",
        "stock": [{ "part": "WLa20-2.4", "on_hand": 7, "available": 7 }],
        "says": says,
        "cautions": ["Let the torch cool; cups and collets stay hot."],
    })
}

fn problem(kind: types::ProblemKind) -> Value {
    json!({
        "type": kind.uri(), "title": kind.title(), "status": kind.status(),
        "detail": "No torch T9. Nearest: T1.", "instance": "urn:uuid:0",
        "violations": [{ "pointer": "/torch", "detail": "\"T9\" is unknown" }],
    })
}

#[test]
fn an_entry_is_answered_in_one_line_and_its_caution_goes_beside_it() {
    let service = Service::answering([(201, recorded("T1: 75 min, 3 grinds. WLa20-2.4: 7 left."))]);
    let computer = Computer::with(service.url());
    let told = computer.run("log T1 75m 3g --by helper");
    assert_eq!(told.code, exit::DONE, "{told:?}");
    assert_eq!(told.out, "T1: 75 min, 3 grinds. WLa20-2.4: 7 left.\n");
    assert_eq!(told.err, "Let the torch cool; cups and collets stay hot.\n");
    let request = &service.requests()[0];
    assert_eq!(request.line, "POST /v1/usage");
    assert!(
        request
            .header("idempotency-key")
            .is_some_and(|key| key.len() > 20)
    );
    assert_eq!(
        request.body,
        json!({
            "torch": "T1", "arc_minutes": 75, "grinds": 3, "by": "helper",
            "at": "2026-05-11T14:02:10-03:00",
        })
    );
    assert!(!computer.has("queue.jsonl"));
}

#[test]
fn without_a_server_an_entry_is_kept_and_sent_with_the_next_command() {
    let mut computer = Computer::with(&nowhere());
    let told = computer.run("take T1 electrode --at 13:30");
    assert_eq!(told.code, exit::DONE, "{told:?}");
    let kept =
        "Server not reachable: kept here, 1 entry waiting. It is sent with your next command.\n";
    assert_eq!(told.out, kept);
    assert!(computer.has("queue.jsonl"));

    let told = computer.run("stock");
    assert_eq!((told.code, &*told.out), (exit::UNREACHABLE, ""), "{told:?}");

    // The same address, and now somebody listens.
    let answers = [(201, recorded("taken")), (200, json!({ "stock": [] }))];
    let service = Service::answering_at(&computer.server, answers);
    computer.server = service.url().to_owned();
    let told = computer.run("stock");
    assert_eq!(told.code, exit::DONE, "{told:?}");
    assert!(
        told.err
            .starts_with("Sent, it was kept here: T1: took 1 x electrode.\n"),
        "{told:?}"
    );
    let requests = service.requests();
    assert_eq!(requests[0].line, "POST /v1/usage");
    assert_eq!(requests[0].body["at"], "2026-05-11T13:30:00-03:00");
    assert_eq!(requests.len(), 2);
    assert!(!computer.has("queue.jsonl"));
}

#[test]
fn an_entry_that_is_sent_again_has_the_key_it_had() {
    let away = || (503, problem(types::ProblemKind::Unavailable));
    let service = Service::answering([
        away(),
        (201, recorded("taken")),
        (200, json!({ "stock": [] })),
    ]);
    let computer = Computer::with(service.url());
    let told = computer.run("take WLa20-2.4 2");
    assert!(
        told.out
            .starts_with("The service could not do it now: kept here"),
        "{told:?}"
    );
    computer.run("stock");
    let requests = service.requests();
    let keys: Vec<_> = requests
        .iter()
        .filter_map(|it| it.header("idempotency-key"))
        .collect();
    assert_eq!(keys.len(), 2);
    assert_eq!(keys[0], keys[1]);
    assert_eq!(requests[0].body, requests[1].body);
}

#[test]
fn a_kept_entry_that_is_refused_is_put_beside_and_told() {
    let mut computer = Computer::with(&nowhere());
    computer.run("take T9 electrode");
    let refused = (422, problem(types::ProblemKind::Invalid));
    let service = Service::answering_at(&computer.server, [refused, (200, json!({ "stock": [] }))]);
    computer.server = service.url().to_owned();
    let told = computer.run("stock");
    assert_eq!(told.code, exit::DONE, "{told:?}");
    assert!(
        told.err
            .contains("Refused, it was kept here: T9: took 1 x electrode"),
        "{told:?}"
    );
    assert!(
        told.err.contains("  torch: \"T9\" is unknown\n"),
        "{told:?}"
    );
    assert!(computer.has("refused.jsonl") && !computer.has("queue.jsonl"));
}

#[test]
fn an_entry_that_is_refused_at_once_is_not_kept() {
    let service = Service::answering([(422, problem(types::ProblemKind::Invalid))]);
    let computer = Computer::with(service.url());
    let told = computer.run("log T9 75m");
    assert_eq!((told.code, &*told.out), (exit::REFUSED, ""));
    let title = types::ProblemKind::Invalid.title();
    let expected = format!("tigstock: {title}\n  torch: \"T9\" is unknown\n");
    assert_eq!(told.err, expected);
    assert!(!computer.has("queue.jsonl") && !computer.has("refused.jsonl"));
}

#[test]
fn a_bad_command_line_ends_with_64_and_sends_nothing() {
    let computer = Computer::with(&nowhere());
    let lines = [
        (
            "log T1 75",
            "75 what? write 75m for arc minutes or 75g for grinds",
        ),
        ("count cup-7 -1", "a count cannot be negative"),
        (
            "forecast WLa20-2.4 --days 30d --arc 34h",
            "--days is about all work of those days",
        ),
        ("receive WLa20-2.4", "QUANTITY"),
        ("stir T1", "stir"),
        ("log T1 75m --at yesterday", "write 14:02"),
        ("receive --order 3 --lot L-1", "--lot belongs to one part"),
        ("undo", "no entry of this computer"),
    ];
    for (line, words) in lines {
        let told = computer.run(line);
        assert_eq!(told.code, exit::USAGE, "{line}: {told:?}");
        assert!(told.err.contains(words), "{line}: {told:?}");
    }
    assert!(!computer.has("queue.jsonl"));
}

#[test]
fn undo_takes_back_the_last_entry_that_was_recorded() {
    let service = Service::answering([(201, recorded("taken")), (201, recorded("taken back"))]);
    let computer = Computer::with(service.url());
    computer.run("take WLa20-2.4");
    let told = computer.run("undo");
    assert_eq!(
        (told.code, &*told.out),
        (exit::DONE, "taken back\n"),
        "{told:?}"
    );
    let request = &service.requests()[1];
    assert_eq!(request.line, "POST /v1/reversals");
    assert_eq!(
        request.body,
        json!({ "entry": "01890a5d-ac96-774b-bcce-b302099a8057" })
    );
    assert_eq!(
        computer.run("undo").code,
        exit::USAGE,
        "an entry is taken back once"
    );
}

#[test]
fn undo_of_an_entry_that_was_never_sent_needs_no_server() {
    let computer = Computer::with(&nowhere());
    computer.run("broke T1 cup");
    let told = computer.run("undo");
    assert_eq!(told.code, exit::DONE, "{told:?}");
    assert_eq!(
        told.out,
        "Taken back before it was sent: T1: broke 1 x cup.\n"
    );
    assert!(!computer.has("queue.jsonl"));
}

#[test]
fn undo_of_an_entry_whose_answer_was_lost_waits_for_the_server() {
    // The connection is closed without an answer: the entry may be on record.
    let service = Service::answering([(0, Value::Null), (0, Value::Null)]);
    let computer = Computer::with(service.url());
    let told = computer.run("broke T1 cup");
    assert!(told.out.contains("kept here"), "{told:?}");
    assert_eq!(computer.run("undo").code, exit::UNREACHABLE);
    assert!(computer.has("queue.jsonl"));
}

#[test]
fn a_key_of_the_profile_is_shown_to_its_own_server_only() {
    let stock = || (200, json!({ "stock": [] }));
    let service = Service::answering([stock(), stock()]);
    let computer = Computer::with(service.url());
    let save = |server: &str| {
        let profile = client::profile::Profile {
            server: server.to_owned(),
            key: "hush".to_owned(),
        };
        profile
            .save(&computer.folder.path().join("client.toml"))
            .expect("it can be written");
    };
    save(&format!("{}/", service.url()));
    computer.run("stock");
    save("http://school.example:8710");
    computer.run("stock");
    let requests = service.requests();
    assert_eq!(requests[0].header("authorization"), Some("Bearer hush"));
    assert_eq!(requests[1].header("authorization"), None);
}

fn order(state: &str) -> Value {
    json!({
        "number": 3, "state": state, "supplier": "quayhead", "job": "R-118", "site": "shop",
        "lines": [{
            "part": "WLa20-2.4", "pack_size": 10, "packs": 1, "pieces": 10, "received": 0,
            "cost_minor": 4200,
        }],
        "goods_minor": 4200, "freight_minor": 0, "cost_minor": 4200, "currency": "CAD",
        "created_at": "2026-06-15T11:00:00Z",
    })
}

#[test]
fn an_order_is_placed_only_after_a_yes() {
    let drafted = || {
        (
            201,
            json!({ "orders": [order("draft")], "says": "1 order drafted." }),
        )
    };
    for (answer, line, placed) in [
        ("y\n", "order R-118", true),
        ("\n", "order R-118", false),
        ("", "order R-118 --yes", true),
        ("y\n", "order R-118 --draft", false),
    ] {
        let service = Service::answering([drafted(), (200, order("placed"))]);
        let computer = Computer::with(service.url());
        let mut env = computer.env();
        env.is_terminal = true;
        env.input = Box::new(Cursor::new(answer.as_bytes()));
        let told = run_with(line, &mut env);
        assert_eq!(told.code, exit::DONE, "{line}: {told:?}");
        let asked = told
            .err
            .contains("Place order 3 at quayhead, 42.00 CAD? [y/N]");
        assert_eq!(asked, line == "order R-118", "{told:?}");
        assert_eq!(service.requests().len() == 2, placed, "{line} {answer:?}");
        assert_eq!(told.out.contains("placed"), placed, "{told:?}");
    }
}

#[test]
fn without_a_terminal_an_order_stays_a_draft() {
    let drafted = (
        201,
        json!({ "orders": [order("draft")], "says": "1 order drafted." }),
    );
    let service = Service::answering([drafted]);
    let told = Computer::with(service.url()).run("order R-118");
    assert_eq!(told.code, exit::DONE, "{told:?}");
    assert!(told.err.contains("tigstock order --place 3"), "{told:?}");
    assert_eq!(service.requests().len(), 1);
}

#[test]
fn a_plan_reads_the_job_before_it_changes_it() {
    let job = |version: i64, arc_minutes: i64| {
        json!({
            "code": "R-118", "torch": "T1", "arc_minutes": arc_minutes, "start": "2026-06-26",
            "version": version,
        })
    };
    let forbidden = (403, problem(types::ProblemKind::Forbidden));
    let service = Service::answering([(200, job(4, 600)), (200, job(5, 2040)), forbidden]);
    let told = Computer::with(service.url()).run("plan R-118 --arc 34h");
    assert_eq!(told.code, exit::REFUSED, "{told:?}");
    let requests = service.requests();
    let lines: Vec<&str> = requests.iter().map(|request| &*request.line).collect();
    assert_eq!(
        lines,
        [
            "GET /v1/jobs/R-118",
            "PUT /v1/jobs/R-118",
            "GET /v1/jobs/R-118/needs"
        ]
    );
    assert_eq!(requests[1].header("if-match"), Some("\"4\""));
    let expected =
        json!({ "code": "R-118", "torch": "T1", "arc_minutes": 2040, "start": "2026-06-26" });
    assert_eq!(requests[1].body, expected);
}

#[test]
fn commands_at_once_send_a_kept_entry_once() {
    let mut computer = Computer::with(&nowhere());
    computer.run("take WLa20-2.4");
    let stock = || (200, json!({ "stock": [] }));
    let answers = [(201, recorded("taken")), stock(), stock(), stock(), stock()];
    let service = Service::answering_at(&computer.server, answers);
    computer.server = service.url().to_owned();
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| assert_eq!(computer.run("stock").code, exit::DONE));
        }
    });
    let requests = service.requests();
    assert_eq!(
        requests
            .iter()
            .filter(|request| request.line.starts_with("POST"))
            .count(),
        1
    );
    assert_eq!(requests.len(), 5);
}

#[test]
fn an_entry_that_is_kept_is_told_to_other_programs_as_json() {
    let computer = Computer::with(&nowhere());
    let told = computer.run("take WLa20-2.4 --format json");
    let answer: Value = serde_json::from_str(&told.out).expect("it is JSON");
    assert_eq!(
        (&answer["kept"], &answer["waiting"]),
        (&json!(true), &json!(1))
    );
    assert!(answer["idempotency_key"].is_string());
}

#[cfg(unix)]
#[test]
fn a_profile_that_others_can_read_is_not_used() {
    use std::os::unix::fs::PermissionsExt;
    let computer = Computer::with(&nowhere());
    let path = computer.folder.path().join("client.toml");
    std::fs::write(&path, "server = \"http://bench\"\nkey = \"hush\"\n")
        .expect("it can be written");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).expect("it is ours");
    let told = computer.run("stock");
    assert_eq!(told.code, exit::PROFILE);
    assert!(
        told.err.contains("chmod 600") && !told.err.contains("hush"),
        "{told:?}"
    );
}
