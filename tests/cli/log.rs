//! `log`, `take`, `return`, `broke`: what was done at the bench, in one line.

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;
use types::{ListUsage, Role};

use crate::computer::Computer;

/// Five minutes after the count, so that what is logged comes after it.
const LATER: &str = "2026-06-15T08:05:00-03:00";

async fn bench() -> (TestServer, Computer) {
    let server = furnished().await;
    server.set_clock(LATER);
    let computer = Computer::of(&server).at(LATER);
    (server, computer)
}

#[tokio::test(flavor = "multi_thread")]
async fn arc_time_and_grinds_are_answered_in_one_line() {
    let (server, computer) = bench().await;
    let told = computer.run("log T1 75m 3g").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(told.out, "T1: 75 min, 3 grinds. WLa20-2.4: 3 left.\n");
    insta::assert_snapshot!(told.err, @r"
    Eye protection, guards, dust extraction; wheel for tungsten only; grind lengthways; no gloves near the wheel unless your site rule says so.
    Follow your site rules, the safety data sheet and the law where you work; ask a qualified person.
    ");
    let usage = server.owner.list_usage(&ListUsage::default()).await;
    let newest = usage.expect("a page").usage.swap_remove(0);
    assert_eq!((newest.arc_minutes, newest.grinds), (75, 3));
    assert_eq!(newest.at.to_rfc3339(), LATER);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bare_number_is_refused_and_nothing_is_kept() {
    let (server, computer) = bench().await;
    let before = server.owner.list_usage(&ListUsage::default()).await;
    let told = computer.run("log T1 75").await;
    assert_eq!((told.code, &*told.out), (64, ""));
    assert_eq!(
        told.err,
        "tigstock: 75 what? write 75m for arc minutes or 75g for grinds\n"
    );
    assert_eq!(computer.waiting(), 0);
    let after = server.owner.list_usage(&ListUsage::default()).await;
    let newest =
        |page: Result<types::UsagePage, client::Error>| page.expect("a page").usage.swap_remove(0);
    assert_eq!(newest(before), newest(after));
}

#[tokio::test(flavor = "multi_thread")]
async fn an_answer_can_be_read_by_programs() {
    let (_server, computer) = bench().await;
    let told = computer.run("log T1 1h20 5g --format json").await;
    assert_eq!((told.code, &*told.err), (0, ""));
    let answer: types::Recorded = serde_json::from_str(&told.out).expect("it is JSON");
    assert_eq!(answer.says, "T1: 80 min, 5 grinds. WLa20-2.4: 3 left.");
    let told = computer.run("take T1 electrode --format csv").await;
    let lines: Vec<&str> = told.out.split("\r\n").collect();
    assert_eq!(lines[0], "entry,part,on_hand,available,site");
    assert!(lines[1].ends_with(",WLa20-2.4,2,2,"), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_taken_broken_and_put_back_changes_the_stock() {
    let (server, computer) = bench().await;
    for (line, answer) in [
        (
            "take T1 electrode",
            "T1: took 1 WLa20-2.4. WLa20-2.4: 2 left.\n",
        ),
        (
            "broke T1 cup",
            "T1: broke 1 cup-7-gas-lens. cup-7-gas-lens: 4 left.\n",
        ),
        (
            "return T1 electrode",
            "T1: put back 1 WLa20-2.4. WLa20-2.4: 3 left.\n",
        ),
    ] {
        let told = computer.run(line).await;
        assert_eq!((told.code, &*told.out), (0, answer), "{told:?}");
    }
    assert_eq!(server.on_hand("WLa20-2.4").await, 3);
    assert_eq!(server.on_hand("cup-7-gas-lens").await, 4);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_that_the_service_refuses_is_told_and_not_kept() {
    let (_server, computer) = bench().await;
    let told = computer.run("log T9 75m").await;
    assert_eq!((told.code, &*told.out), (65, ""));
    assert!(told.err.contains("there is no torch T9"), "{told:?}");
    assert_eq!(computer.waiting(), 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_that_only_reads_cannot_log() {
    let (server, computer) = bench().await;
    let told = computer
        .with_key(server.key(Role::Read))
        .run("log T1 75m")
        .await;
    assert_eq!(told.code, 65, "{told:?}");
    let told = computer.with_key("tig_unknown").run("log T1 75m").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert_eq!(computer.waiting(), 0);
    let told = computer
        .with_key(server.key(Role::Log))
        .run("log T1 75m")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_unknown_command_is_refused_with_a_likely_one() {
    let (_server, computer) = bench().await;
    let told = computer.run("stok").await;
    assert_eq!((told.code, &*told.out), (64, ""));
    assert!(told.err.contains("stock"), "{told:?}");
}
