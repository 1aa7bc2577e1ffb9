//! `warn` and `check` on the command line: what is low, in sentences; watches set, silenced and switched
//! off; and the exit codes that scripts and timers go by.

use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode};
use tigstock_tests::watched::WATCHED;
use types::{KitLine, NewJob, NewKit, ProblemKind};

use crate::computer::Computer;

const NOON: &str = "2026-06-17T12:00:00-03:00";
const LOW: &str = "Electrode WLa20 1.6 mm: 4 left, order point 4. You use about 0.7 a week; delivery \
                   takes 1 week. Next: 1 pack of 10, Quayhead, by Mon 22 Jun.\n";

async fn shop() -> (TestServer, Computer) {
    let server = TestServer::watched_shop().await;
    let computer = Computer::of(&server).at(NOON);
    (server, computer)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_watch_is_set_and_what_is_low_is_told_in_sentences_and_by_the_exit_code() {
    let (server, computer) = shop().await;
    let told = computer.run("warn WLa20-1.6 --to mail,calendar").await;
    assert_eq!(
        (told.code, told.out.as_str()),
        (
            0,
            "WLa20-1.6: watched, low at order point; told on page, mail, calendar.\n"
        ),
        "{told:?}"
    );
    let told = computer.run("check --now").await;
    assert_eq!(
        (told.code, told.out.as_str()),
        (0, "Nothing is low.\n"),
        "{told:?}"
    );
    server.set_clock(NOON);
    server.take(WATCHED, "one").await;
    let told = computer.run("check --now").await;
    assert_eq!((told.code, told.out.as_str()), (1, LOW), "{told:?}");
    let told = computer.run("check WLa20-1.6").await;
    assert_eq!(told.code, 1, "{told:?}");
    let told = computer.run("warn").await;
    assert_eq!((told.code, told.out.as_str()), (0, LOW), "{told:?}");
    let told = computer.run("warn --format csv").await;
    assert!(
        told.out
            .starts_with("warning,kind,subject,state,says,opened_at\r\n"),
        "{told:?}"
    );
    assert_eq!(told.out.lines().count(), 2, "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_warning_is_silenced_until_an_end_and_a_watch_switched_off_with_a_reason() {
    let (server, computer) = shop().await;
    server.set_clock(NOON);
    server.take(WATCHED, "one").await;
    server.looks().await;
    for (end, until) in [("monday", "22"), ("2026-07-01", "1"), ("on-hand=2", "17")] {
        let told = computer
            .run(&format!("warn {WATCHED} --quiet-until {end}"))
            .await;
        assert_eq!(told.code, 0, "{told:?}");
        assert!(told.out.starts_with("WLa20-1.6: silent until "), "{told:?}");
        assert!(told.out.contains(until), "{told:?}");
    }
    assert_eq!(server.warning().await.quiet_on_hand, Some(2));
    let told = computer
        .run(&format!("warn {WATCHED} --quiet-until on-hand=few"))
        .await;
    assert_eq!(told.code, 64, "{told:?}");
    let told = computer
        .run(&format!("warn {WATCHED} --quiet-until 2026-06-01"))
        .await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(told.err.contains("not after now"), "{told:?}");
    let told = computer.run("warn WLa20-2.4 --quiet-until monday").await;
    assert!(
        told.code == 64 && told.err.contains("no warning about WLa20-2.4"),
        "{told:?}"
    );

    let told = computer
        .run_words(&["warn", WATCHED, "--off", "torch sold"])
        .await;
    assert_eq!(
        (told.code, told.out.as_str()),
        (0, "WLa20-1.6: not watched any more (torch sold).\n"),
        "{told:?}"
    );
    let told = computer.run("check --now").await;
    assert_eq!(told.code, 0, "{told:?}");
    let told = computer.run("check WLa20-1.6").await;
    assert_eq!(told.code, 3, "{told:?}");
    assert!(
        told.out
            .contains("Cannot say for WLa20-1.6: it is not watched."),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn several_parts_are_watched_together_and_what_cannot_be_is_refused() {
    let (_server, computer) = shop().await;
    let told = computer
        .run_words(&["warn", "electrode 1.6 WLa20,WCe20", "--limit", "6"])
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.out
            .contains("electrode 1.6 WCe20,WLa20: watched, low at 6"),
        "{told:?}"
    );
    assert!(told.out.contains("Takes together: WLa20-1.6."), "{told:?}");
    let told = computer.run("check --now").await;
    assert_eq!(told.code, 1, "{told:?}");
    let told = computer.run(&format!("warn {WATCHED} --limit -4")).await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(told.err.contains("below zero"), "{told:?}");
    let told = computer.run("check WLa20-9").await;
    assert_eq!(told.code, 65, "{told:?}");
    let nowhere = Computer::calling("http://127.0.0.1:9", "tig_none");
    assert_eq!(nowhere.run("check").await.code, 69);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_whose_kit_is_not_complete_is_blocked() {
    let server = TestServer::at("2026-06-22T08:00:00-03:00").await;
    server.stocked(collet("collet-2.4"), 0).await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 20).await;
    server.torch("T1", &[]).await;
    let line = |part: &str| KitLine {
        part: part.to_owned(),
        quantity: 1,
        or: Vec::new(),
    };
    let kit = NewKit {
        code: "K-24".to_owned(),
        name: None,
        parts: vec![line("WLa20-2.4"), line("collet-2.4")],
    };
    server.owner.create_kit(&kit).await.expect("a kit");
    let job = NewJob {
        code: "R-118".to_owned(),
        torch: Some("T1".to_owned()),
        kit: Some("K-24".to_owned()),
        arc_minutes: Some(34 * 60),
        start: "2026-06-26".parse().expect("a day"),
        ..NewJob::default()
    };
    server.owner.create_job(&job).await.expect("a job");
    let computer = Computer::of(&server).at("2026-06-22T08:00:00-03:00");
    let told = computer.run("check --now").await;
    assert_eq!(told.code, 2, "{told:?}");
    assert!(
        told.out
            .contains("R-118 starts Fri 26 June: kit K-24 on T1 is "),
        "{told:?}"
    );
    // Without the right to keep stock it goes by the last look.
    let reader = computer.with_key(server.key(types::Role::Read));
    assert_eq!(reader.run("check").await.code, 2);
    let told = reader.run("check --now").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(
        told.err.contains(ProblemKind::Forbidden.title()),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_torch_is_watched_by_its_name() {
    let (_server, computer) = shop().await;
    let told = computer.run("warn T2 --to mail").await;
    let says = "T2: checked each week against the other torches; told on page, mail.\n";
    assert_eq!((told.code, told.out.as_str()), (0, says), "{told:?}");
    let told = computer.run("warn t2 --to calendar").await;
    let says = "T2: checked each week against the other torches; told on page, calendar.\n";
    assert_eq!((told.code, told.out.as_str()), (0, says), "{told:?}");
    let told = computer
        .run_words(&["warn", "T2", "--off", "it is mended"])
        .await;
    assert_eq!(told.out, "T2: not watched any more (it is mended).\n");
    let told = computer.run("warn T9 --to mail").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(told.err.contains("T9"), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_silent_for_too_long_cannot_be_told() {
    let server = TestServer::silent_shop(90).await;
    let computer = Computer::of(&server).at("2026-06-15T08:00:00-03:00");
    let says = "Cannot say for gas-lens-2.4: no use recorded for 41 days though T1 ran. Next: count \
                drawer 9.\n";
    for command in [
        "check",
        "check --now",
        "check gas-lens-2.4",
        "check GAS-LENS-2.4 --now",
    ] {
        let told = computer.run(command).await;
        assert_eq!(told.code, 3, "{command}: {told:?}");
        assert!(told.out.ends_with(says), "{command}: {told:?}");
    }
    let told = computer.run("count gas-lens-2.4 20").await;
    assert_eq!(told.code, 0, "{told:?}");
    let told = computer.run("check --now").await;
    assert_eq!(
        (told.code, told.out.as_str()),
        (0, "Nothing is low.\n"),
        "{told:?}"
    );
}
