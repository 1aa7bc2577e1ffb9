//! `questions` and `answer`: what the ledger asks, at the command line; `allocate` and `trace`.

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;
use types::{NewReceipt, NewUsage};

use crate::computer::Computer;

const NOON: &str = "2026-06-15T12:00:00-03:00";

async fn computer() -> (TestServer, Computer) {
    let server = furnished().await;
    server.set_clock(NOON);
    let computer = Computer::of(&server).at(NOON);
    (server, computer)
}

/// The helper and the owner log the same tip change on two phones.
async fn logged_twice(server: &TestServer) {
    for (by, time) in [("helper", "11:02:10"), ("owner", "11:06:00")] {
        let usage = NewUsage {
            torch: Some("T1".to_owned()),
            what: Some("took".to_owned()),
            at: Some(
                format!("2026-06-15T{time}-03:00")
                    .parse()
                    .expect("an instant"),
            ),
            by: Some(by.to_owned()),
            ..NewUsage::default()
        };
        server
            .owner
            .record_usage(&usage, by)
            .await
            .expect("it is recorded");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_furnished_shop_is_asked_nothing() {
    let (_server, computer) = computer().await;
    let told = computer.run("questions").await;
    assert_eq!(
        (told.code, &*told.out, &*told.err),
        (0, "Nothing is asked.\n", "")
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_question_is_shown_with_its_answers_and_answered() {
    let (server, computer) = computer().await;
    logged_twice(&server).await;
    let told = computer.run("stock WLa20-2.4").await;
    assert!(
        told.out
            .ends_with("WLa20-2.4: 1 (2 if double). Next: tigstock questions --part WLa20-2.4\n"),
        "{told:?}"
    );
    let told = computer.run("questions").await;
    assert_eq!(
        told.out,
        "1. Possible double entry on T1: helper 11:02, owner 11:06. Same tip change?\n   \
            tigstock answer 1 same: the later entry is taken back; both stay readable\n   \
            tigstock answer 1 different: nothing: both entries stand\n"
    );
    let told = computer.run("answer 1 same --by owner").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.out.starts_with("Question 1: entry "), "{told:?}");
    assert!(
        told.out.ends_with("was taken back as a double entry.\n"),
        "{told:?}"
    );
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
    let told = computer.run("questions --all --format csv").await;
    let mut lines = told.out.lines();
    assert_eq!(
        lines.next(),
        Some("number,kind,state,site,part,says,asked_at,answer,outcome,answered_by")
    );
    let line = lines.next().expect("the question");
    assert!(
        line.starts_with("1,double-entry,answered,shop,WLa20-2.4,"),
        "{line}"
    );
    assert!(line.ends_with(",owner"), "{line}");
    let told = computer.run("answer 1 same").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(
        told.err.contains("question 1 is answered already"),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn an_answer_that_does_not_fit_is_refused_with_those_that_do() {
    let (server, computer) = computer().await;
    logged_twice(&server).await;
    let told = computer.run("answer 1 move").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(told.err.contains("give same or different"), "{told:?}");
    let told = computer.run("answer 99 same").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(told.err.contains("there is no question 99"), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_with_an_odd_date_is_kept_aside_and_undo_says_what_to_do() {
    let (server, computer) = computer().await;
    let told = computer
        .run("take T1 electrode --at 2025-01-02T10:00:00-04:00")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.out
            .starts_with("Kept aside, not recorded yet: T1: took 1 WLa20-2.4"),
        "{told:?}"
    );
    assert!(told.out.ends_with("Answer question 1.\n"), "{told:?}");
    assert_eq!(server.on_hand("WLa20-2.4").await, 3);
    let told = computer.run("undo").await;
    assert_eq!(told.code, 64, "{told:?}");
    assert!(
        told.err.contains("tigstock answer 1 not-recorded"),
        "{told:?}"
    );
    let told = computer.run("answer 1 as-received").await;
    assert_eq!(
        told.out,
        "Question 1: recorded as of when it was received.\n"
    );
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn pieces_are_promised_listed_and_freed() {
    let (_server, computer) = computer().await;
    let told = computer.run("allocate").await;
    assert_eq!((told.code, &*told.out), (0, "Nothing is promised.\n"));
    let told = computer.run("allocate R-118 WLa20-2.4 2 --by owner").await;
    assert_eq!(
        told.out, "2 WLa20-2.4 promised to R-118. WLa20-2.4: 1 available.\n",
        "{told:?}"
    );
    let told = computer.run("allocate R-118 --format csv").await;
    let lines: Vec<&str> = told.out.lines().collect();
    assert_eq!(lines[0], "job,part,site,quantity,changed_at");
    assert!(lines[1].starts_with("R-118,WLa20-2.4,shop,2,"), "{told:?}");
    let told = computer.run("allocate R-118 WLa20-2.4 9").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(
        told.err
            .contains("1 available at shop, 2 promised to it before"),
        "{told:?}"
    );
    let told = computer.run("allocate R-118 WLa20-2.4 0").await;
    assert_eq!(
        told.out,
        "0 WLa20-2.4 promised to R-118. WLa20-2.4: 3 available.\n"
    );
    let told = computer.run("allocate R-118 WLa20-2.4").await;
    assert_eq!(told.code, 64, "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lot_is_traced_held_and_freed() {
    let (server, computer) = computer().await;
    let receipt = NewReceipt {
        part: "WLa20-2.4".to_owned(),
        quantity: 10,
        lot: Some("L-2231".to_owned()),
        ..NewReceipt::default()
    };
    server
        .owner
        .record_receipt(&receipt, "lot")
        .await
        .expect("a lot");
    let told = computer
        .run("take T1 electrode --lot L-2231 --job R-118")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    let told = computer.run("trace L-2231 --look").await;
    assert!(
        told.out
            .ends_with("L-2231: 10 received. 1 to R-118, 9 in shop. 1 used or handed out.\n"),
        "{told:?}"
    );
    assert_eq!(server.stock("WLa20-2.4").await.on_hold, 0);
    let told = computer.run("trace L-2231").await;
    assert!(told.out.ends_with("9 put on hold now.\n"), "{told:?}");
    assert_eq!(server.stock("WLa20-2.4").await.on_hold, 9);
    let told = computer.run("trace l-2231 --release").await;
    assert!(told.out.ends_with("9 freed now.\n"), "{told:?}");
    assert_eq!(server.stock("WLa20-2.4").await.on_hold, 0);
    let told = computer.run("trace L-404").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(told.err.contains("there is no lot L-404"), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_explanation_shows_the_chain_of_corrections() {
    let (_server, computer) = computer().await;
    computer.run("take T1 electrode --by helper").await;
    computer.run("undo").await;
    let told = computer.run("explain WLa20-2.4").await;
    let lines: Vec<&str> = told
        .out
        .lines()
        .filter(|line| line.starts_with("  "))
        .collect();
    assert!(
        lines
            .iter()
            .any(|line| line.contains("-1 issue (took), helper, taken back")),
        "{told:?}"
    );
    assert!(
        lines
            .iter()
            .any(|line| line.contains("+1 issue, helper, takes an entry back")),
        "{told:?}"
    );
}
