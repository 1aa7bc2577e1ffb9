//! `forecast --lull`: days on which the site does less work than usual, told, listed and taken away.

use tigstock_tests::demo::furnished;
use types::ListLulls;

use crate::computer::Computer;

#[tokio::test(flavor = "multi_thread")]
async fn a_lull_is_told_changed_listed_and_taken_away() {
    let server = furnished().await;
    let computer = Computer::of(&server);
    let told = computer.run("forecast --lulls").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.out.contains("No lulls"), "{}", told.out);
    let line = "forecast --lull 2026-07-01..2026-07-14 --share 0.5 --note holidays";
    let told = computer.run(line).await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.out
            .contains("2026-07-01 to 2026-07-14: 50 % of the usual work"),
        "{}",
        told.out
    );
    // The same days again are the same lull.
    let told = computer
        .run("forecast --lull 2026-07-01..2026-07-14 --share 0")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    let lulls = server.owner.list_lulls(&ListLulls::default()).await;
    let lulls = lulls.expect("lulls").lulls;
    assert_eq!(lulls.len(), 1);
    assert!(lulls[0].share.abs() < 1e-12, "{lulls:?}");
    let told = computer.run("forecast --lulls").await;
    for words in ["2026-07-01", "2026-07-14", "0 %"] {
        assert!(told.out.contains(words), "{words}: {}", told.out);
    }
    let told = computer.run("forecast --no-lull 2026-07-02").await;
    assert_eq!(told.code, 64, "{told:?}");
    assert!(
        told.err.contains("no lull begins on 2026-07-02"),
        "{}",
        told.err
    );
    let told = computer.run("forecast --no-lull 2026-07-01").await;
    assert_eq!(told.code, 0, "{told:?}");
    let lulls = server.owner.list_lulls(&ListLulls::default()).await;
    assert!(lulls.expect("lulls").lulls.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lull_without_its_share_or_with_days_the_wrong_way_round_is_refused() {
    let server = furnished().await;
    let computer = Computer::of(&server);
    for (line, words) in [
        ("forecast --lull 2026-07-01..2026-07-14", "--share"),
        (
            "forecast --lull 2026-07-14..2026-07-01 --share 0",
            "first day first",
        ),
    ] {
        let told = computer.run(line).await;
        assert_eq!(told.code, 64, "{line}: {told:?}");
        assert!(told.err.contains(words), "{line}: {}", told.err);
    }
}
