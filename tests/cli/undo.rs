//! `undo`: taking back what was just entered.

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;
use types::Role;

use crate::computer::Computer;

const LATER: &str = "2026-06-15T08:05:00-03:00";

async fn bench() -> (TestServer, Computer) {
    let server = furnished().await;
    server.set_clock(LATER);
    let computer = Computer::of(&server).at(LATER);
    (server, computer)
}

#[tokio::test(flavor = "multi_thread")]
async fn the_last_entry_is_taken_back_once() {
    let (server, computer) = bench().await;
    computer.run("take T1 electrode").await;
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
    let told = computer.run("undo").await;
    assert_eq!(
        (told.code, &*told.out),
        (0, "Taken back: took. WLa20-2.4: 3 left.\n")
    );
    let told = computer.run("undo").await;
    assert_eq!((told.code, &*told.out), (64, ""));
    assert_eq!(server.on_hand("WLa20-2.4").await, 3);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_can_be_taken_back() {
    let (server, computer) = bench().await;
    computer.run("count collet-2.4 7").await;
    assert_eq!(server.on_hand("collet-2.4").await, 7);
    let told = computer.run("undo").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(server.on_hand("collet-2.4").await, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_can_be_taken_back_by_its_name() {
    let (server, computer) = bench().await;
    let told = computer.run("take T1 electrode --format json").await;
    let answer: types::Recorded = serde_json::from_str(&told.out).expect("it is JSON");
    computer.run("broke T1 cup").await;
    let told = computer.run(&format!("undo {}", answer.entry)).await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(server.on_hand("WLa20-2.4").await, 3);
    assert_eq!(server.on_hand("cup-7-gas-lens").await, 4);
}

#[tokio::test(flavor = "multi_thread")]
async fn after_ten_minutes_it_takes_a_key_that_may_keep_stock() {
    let (server, computer) = bench().await;
    let helper = computer.with_key(server.key(Role::Log));
    helper.run("take T1 electrode").await;
    server.set_clock("2026-06-15T08:16:00-03:00");
    let told = helper.run("undo").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
    let told = computer.run("undo").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(server.on_hand("WLa20-2.4").await, 3);
}
