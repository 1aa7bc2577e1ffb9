//! `explain --why-out`: when a part ran out, and why.

use tigstock_tests::run_outs::{mixed, unlogged, weekly};

use crate::computer::Computer;

#[tokio::test(flavor = "multi_thread")]
async fn the_cause_and_what_to_do_are_told_in_one_sentence() {
    let server = unlogged().await;
    server.answered(1, "unlogged-use").await;
    let told = Computer::of(&server)
        .run("explain WLa20-2.4 --why-out")
        .await;
    assert_eq!((told.code, &*told.err), (0, ""));
    let lines: Vec<&str> = told.out.lines().collect();
    assert!(lines[0].starts_with("WLa20-2.4 ran out Fri 12 Jun: a count found none"));
    assert_eq!(
        lines[1],
        "  100 %  6 used without being logged, by the count"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mixture_is_a_row_a_cause() {
    let server = mixed().await;
    let told = Computer::of(&server)
        .run("explain WLa20-2.4 --why-out --since 2026-07-01 --format csv")
        .await;
    assert_eq!((told.code, &*told.err), (0, ""));
    let rows: Vec<&str> = told.out.lines().skip(1).collect();
    assert_eq!(rows.len(), 2, "{}", told.out);
    assert!(rows[0].contains(",late-delivery,10,"), "{}", told.out);
    assert!(rows[1].contains(",forecast,"), "{}", told.out);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_did_not_run_out_says_so() {
    let server = weekly(1).await;
    let told = Computer::of(&server)
        .run("explain WLa20-2.4 --why-out")
        .await;
    assert_eq!((told.code, &*told.out), (0, "WLa20-2.4 did not run out.\n"));
}
