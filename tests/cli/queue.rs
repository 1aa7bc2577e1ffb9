//! An entry is kept until the service has answered for it: it is never lost, and counts once.

use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;
use tigstock_tests::door::{Door, Exchange};
use types::{ListUsage, Role};

use crate::computer::Computer;
use tigstock_tests::programs::{Home, ended};

const LATER: &str = "2026-06-15T08:05:00-03:00";

/// A furnished server behind a door that is shut, and a computer that calls at the door.
async fn behind_a_door() -> (TestServer, Door, Computer) {
    let server = furnished().await;
    server.set_clock(LATER);
    let door = Door::shut();
    let computer = Computer::calling(&door.url, server.key(Role::Keep)).at(LATER);
    (server, door, computer)
}

fn posts(door: &Door) -> Vec<Exchange> {
    door.seen().into_iter().filter(Exchange::is_post).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn where_the_server_is_away_an_entry_is_kept_and_a_question_is_not() {
    let (_server, _door, computer) = behind_a_door().await;
    let told = computer.run("take T1 electrode").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(
        told.out,
        "Server not reachable: kept here, 1 entry waiting. It is sent with your next command.\n"
    );
    let told = computer.run("log T1 75m 3g").await;
    assert!(told.out.contains("2 entries waiting"), "{told:?}");
    assert_eq!(computer.waiting(), 2);
    let told = computer.run("stock").await;
    assert_eq!((told.code, &*told.out), (69, ""));
}

#[tokio::test(flavor = "multi_thread")]
async fn when_the_server_is_back_each_entry_is_sent_once_in_order() {
    let (server, mut door, computer) = behind_a_door().await;
    for line in [
        "take T1 electrode",
        "count cup-7-gas-lens 9",
        "broke T1 cup",
        "log T1 75m 3g",
    ] {
        assert_eq!(computer.run(line).await.code, 0, "{line}");
    }
    door.open(&server.url);
    for _ in 0..2 {
        let told = computer.run("stock").await;
        assert_eq!(told.code, 0, "{told:?}");
    }
    assert_eq!(computer.waiting(), 0);
    let sent: Vec<String> = posts(&door).into_iter().map(|post| post.path).collect();
    assert_eq!(sent, ["/v1/usage", "/v1/counts", "/v1/usage", "/v1/usage"]);
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_that_is_sent_later_keeps_the_time_it_was_made() {
    let (server, mut door, computer) = behind_a_door().await;
    computer.run("log T1 75m").await;
    server.set_clock("2026-06-16T20:00:00-03:00");
    door.open(&server.url);
    let told = computer.at("2026-06-16T20:00:00-03:00").run("stock").await;
    assert!(
        told.err
            .contains("Sent, it was kept here: T1: 75 min of arc time."),
        "{told:?}"
    );
    let usage = server.owner.list_usage(&ListUsage::default()).await;
    let newest = usage.expect("a page").usage.swap_remove(0);
    assert_eq!(newest.at.to_rfc3339(), LATER);
    assert_eq!(newest.received_at.to_rfc3339(), "2026-06-16T23:00:00+00:00");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_whose_answer_was_lost_counts_once() {
    let (server, mut door, computer) = behind_a_door().await;
    let first = AtomicBool::new(true);
    door.open_with(&server.url, move |exchange| {
        !(exchange.is_post() && first.swap(false, Ordering::SeqCst))
    });
    let told = computer.run("take T1 electrode").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(computer.waiting(), 1);
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
    let told = computer.run("stock").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!((computer.waiting(), posts(&door).len()), (0, 2));
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
    let bodies: Vec<Vec<u8>> = posts(&door).into_iter().map(|post| post.body).collect();
    assert_eq!(bodies[0], bodies[1], "the second answer is the first");
}

#[cfg(unix)]
#[tokio::test(flavor = "multi_thread")]
async fn an_entry_of_a_program_that_was_killed_before_the_answer_counts_once() {
    let (server, mut door, _) = behind_a_door().await;
    let victim = Arc::new(OnceLock::new());
    let (marked, first) = (Arc::clone(&victim), AtomicBool::new(true));
    // The service has the entry; the program dies before it hears so, and cannot forget it.
    door.open_with(&server.url, move |exchange| {
        let dies = exchange.is_post() && first.swap(false, Ordering::SeqCst);
        if dies {
            let id: &String = marked.wait();
            let killed = Command::new("kill").args(["-KILL", id]).status();
            assert!(killed.expect("kill starts").success());
        }
        !dies
    });
    let home = Home::new();
    let at_the_door = ["--server", &door.url, "--key", server.key(Role::Keep)];
    let mut take = home.tigstock();
    take.args(at_the_door)
        .args(["take", "T1", "electrode", "--at", LATER]);
    let mut taking = take.spawn().expect("it starts");
    victim
        .set(taking.id().to_string())
        .expect("it is the first");
    let ended = tokio::task::spawn_blocking(move || taking.wait()).await;
    let status = ended.expect("no panic").expect("it is ours");
    assert_eq!(status.code(), None, "it was killed");
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
    let mut stock = home.tigstock();
    stock
        .args(at_the_door)
        .args(["stock", "WLa20-2.4", "--format", "csv"]);
    let (good, told, err) = ended_of(stock).await;
    assert!(good, "{err}");
    assert!(told.contains(",shop,piece,2,0,0,2,"), "{told}");
    assert!(err.contains("Sent, it was kept here"), "{err}");
    assert_eq!(posts(&door).len(), 2);
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
}

/// Runs a program to its end on a thread that may wait.
#[cfg(unix)]
async fn ended_of(mut command: Command) -> (bool, String, String) {
    let ended = tokio::task::spawn_blocking(move || ended(&mut command));
    ended.await.expect("it does not panic")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_kept_entry_that_the_service_refuses_does_not_hold_up_the_others() {
    let (server, mut door, computer) = behind_a_door().await;
    for line in ["take T9 electrode", "take T1 electrode"] {
        assert_eq!(computer.run(line).await.code, 0, "{line}");
    }
    door.open(&server.url);
    let told = computer.run("stock").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.err.contains("Refused, it was kept here: T9"),
        "{told:?}"
    );
    assert!(told.err.contains("refused.jsonl"), "{told:?}");
    assert_eq!(computer.waiting(), 0);
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
    let refused = std::fs::read_to_string(computer.state().join("refused.jsonl"));
    assert_eq!(refused.expect("it is there").lines().count(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_that_was_not_sent_is_taken_back_here() {
    let (server, mut door, computer) = behind_a_door().await;
    computer.run("take T1 electrode").await;
    let told = computer.run("undo").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.out.starts_with("Taken back before it was sent"),
        "{told:?}"
    );
    door.open(&server.url);
    computer.run("stock").await;
    assert_eq!(posts(&door).len(), 0);
    assert_eq!(server.on_hand("WLa20-2.4").await, 3);
}
