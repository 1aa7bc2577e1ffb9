//! Several servers on one database: nothing that one of them keeps in memory matters. Each has connections,
//! a writer and a memory of keys of its own, as a process has.

use std::collections::BTreeSet;
use std::time::Duration;

use sea_orm::ConnectionTrait;
use server::service::rebuild::rebuild;
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::database::is_without_server;
use tigstock_tests::shop::taken;
use tokio::task::JoinSet;
use tokio::time::timeout;
use types::Role;

const PART: &str = "WLa20-2.4";
const COUNTED: i64 = 1_000;
/// How many entries each test tells.
const ENTRIES: i64 = 100;
/// How long another process may take to hear of a write; it fails the test, and paces nothing.
const PATIENCE: Duration = Duration::from_secs(20);

async fn two() -> (TestServer, TestServer) {
    let one = TestServer::start().await;
    let other = one.beside().await;
    one.stocked(electrode(PART, "2.4 mm"), COUNTED).await;
    (one, other)
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_told_to_two_servers_at_once_is_recorded_once_and_answered_the_same() {
    let (one, other) = two().await;
    let body = serde_json::to_value(taken(PART)).expect("JSON");
    let mut telling = JoinSet::new();
    for index in 0..ENTRIES {
        for server in [&one, &other] {
            // The key of the first is a key at the other: the caller is the same.
            let ask = server.ask_as(one.key(Role::Log), "POST", "/v1/usage");
            let ask = ask.once(&format!("take-{index}")).json(&body);
            telling.spawn(async move { (index, ask.send().await) });
        }
    }
    let mut answers = BTreeSet::new();
    while let Some(told) = telling.join_next().await {
        let (index, heard) = told.expect("it ended");
        assert!(matches!(heard.status, 200 | 201), "{}", heard.text());
        answers.insert((index, heard.text()));
    }
    let entries = i64::try_from(answers.len()).expect("a number");
    assert_eq!(entries, ENTRIES, "a repeat was answered otherwise");
    for server in [&one, &other] {
        assert_eq!(server.on_hand(PART).await, COUNTED - ENTRIES);
    }
    let rebuilt = rebuild(&other.context).await.expect("a rebuild");
    assert_eq!((rebuilt.levels_wrong, rebuilt.wear_wrong), (0, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn each_server_goes_on_from_what_the_other_left() {
    let (one, other) = two().await;
    if is_without_server("a file is served by one process, which keeps what it read of it") {
        return;
    }
    for index in 0..10 {
        let server = if index % 2 == 0 { &one } else { &other };
        server.take(PART, &format!("take-{index}")).await;
        for server in [&one, &other] {
            assert_eq!(server.on_hand(PART).await, COUNTED - index - 1);
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_hears_of_what_another_wrote() {
    let (one, other) = two().await;
    if is_without_server("a file has no other process to hear of") {
        return;
    }
    let mut wrote = other.context.writer.wrote();
    // It listens from some moment after its start on: what is written before that is found by looking.
    for index in 0.. {
        wrote.mark_unchanged();
        one.take(PART, &format!("take-{index}")).await;
        if timeout(Duration::from_secs(1), wrote.changed())
            .await
            .is_ok()
        {
            break;
        }
        assert!(index < PATIENCE.as_secs(), "it hears nothing");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn connections_that_are_cut_are_made_again_and_nothing_is_lost() {
    let (one, _) = two().await;
    if is_without_server("a file has no connection that could be cut") {
        return;
    }
    let cut = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
               WHERE datname = current_database() AND pid <> pg_backend_pid()";
    for index in 0..5 {
        let db = one.context.store.read();
        db.execute_unprepared(cut)
            .await
            .expect("all others are cut");
        one.take(PART, &format!("take-{index}")).await;
        assert_eq!(one.on_hand(PART).await, COUNTED - index - 1);
    }
}
