//! `stock` and `count`: how many there are, and what a count changes.

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;

use types::NewDrawer;

use crate::computer::Computer;

async fn computer() -> (TestServer, Computer) {
    let server = furnished().await;
    let computer = Computer::of(&server);
    (server, computer)
}

#[tokio::test(flavor = "multi_thread")]
async fn the_stock_is_told_as_a_table() {
    let (_server, computer) = computer().await;
    let told = computer.run("stock").await;
    assert_eq!((told.code, &*told.err), (0, ""));
    insta::assert_snapshot!(told.out, @r"
    Part                Name                                 On hand  On hold  Available  On order  Counted
    -----------------------------------------------------------------------------------------------------------------------
    back-cap-long       Back cap, long, large body                 2        0          2         0  Mon 15 Jun 2026, 07:59
    collet-2.4          Collet 2.4 mm, large body                  1        0          1         0  Mon 15 Jun 2026, 07:59
    cup-7-gas-lens      Cup no. 7, gas-lens seat                   5        0          5         0  Mon 15 Jun 2026, 07:59
    gas-lens-2.4        Gas lens 2.4 mm, large body                1        0          1         0  Mon 15 Jun 2026, 07:59
    insulator-gas-lens  Insulator for gas lens, large body         1        0          1         0  Mon 15 Jun 2026, 07:59
    o-ring-large        O-ring, back cap, large body               2        0          2         0  Mon 15 Jun 2026, 07:59
    WLa20-2.4           Electrode WLa20 2.4 mm, 175 mm long        3        0          3         0  Mon 15 Jun 2026, 07:59
    ");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_stock_of_a_past_instant_says_what_it_stands_for() {
    let (server, computer) = computer().await;
    server.set_clock("2026-06-16T08:00:00-03:00");
    server.take("WLa20-2.4", "taken").await;
    let told = computer
        .run("stock WLa20-2.4 --as-of 2026-06-15T08:00:00-03:00 --known then")
        .await;
    assert_eq!((told.code, &*told.err), (0, ""));
    insta::assert_snapshot!(told.out, @r"
    Part       Name                                 On hand  On hold  Available  On order  Counted
    --------------------------------------------------------------------------------------------------------------
    WLa20-2.4  Electrode WLa20 2.4 mm, 175 mm long        3        0          3         0  Mon 15 Jun 2026, 07:59

    As of 15 Jun 2026 11:00:00 UTC, as it was known then: only what had been received by then. Parts, kits, jobs, suppliers and offers are those of today.
    ");
    let told = computer
        .run("stock --as-of 2026-06-15T08:00:00-03:00 --format json")
        .await;
    let page: types::StockPage = serde_json::from_str(&told.out).expect("it is JSON");
    assert!(
        page.stands_for
            .is_some_and(|it| it.contains("as it is known now"))
    );
    for line in [
        "stock --known then",
        "stock --as-of yesterday",
        "stock --as-of 2026-06-15T08:00:00-03:00 --known soon",
    ] {
        assert_eq!(computer.run(line).await.code, 64, "{line}");
    }
    let told = computer
        .run("stock --as-of 2026-06-17T08:00:00-03:00")
        .await;
    assert_eq!(told.code, 65);
    assert!(told.err.contains("still to come"), "{}", told.err);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_stock_of_one_part_is_told_as_csv_and_json() {
    let (_server, computer) = computer().await;
    let told = computer.run("stock WLa20-2.4 --format csv").await;
    assert_eq!(
        told.out,
        "part,name,site,unit,on_hand,on_hold,allocated,available,on_order,position,counted_at,as_of,drawers,state,held_because\r\n\
         WLa20-2.4,\"Electrode WLa20 2.4 mm, 175 mm long\",shop,piece,3,0,0,3,0,3,\
         2026-06-15T10:59:00+00:00,2026-06-15T11:00:00+00:00,,,\r\n"
    );
    let told = computer.run("stock WLa20-2.4 --format json").await;
    let stock: types::Stock = serde_json::from_str(&told.out).expect("it is JSON");
    assert_eq!(
        (&*stock.part, stock.on_hand, stock.available),
        ("WLa20-2.4", 3, 3)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_stock_says_in_which_drawers_a_part_lies() {
    let (server, computer) = computer().await;
    for code in ["14", "3"] {
        let drawer = NewDrawer {
            code: code.to_owned(),
            name: None,
            site: None,
            parts: vec!["o-ring-large".to_owned()],
        };
        server.owner.create_drawer(&drawer).await.expect("a drawer");
    }
    let told = computer.run("stock o-ring-large").await;
    let lines: Vec<&str> = told.out.lines().map(str::trim_end).collect();
    assert!(lines[0].ends_with("  Drawer"), "{told:?}");
    assert!(lines[2].ends_with("  3, 14"), "{told:?}");
    let told = computer.run("stock o-ring-large --format csv").await;
    assert!(told.out.ends_with(",\"3, 14\",,\r\n"), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_is_not_there_is_refused() {
    let (_server, computer) = computer().await;
    let told = computer.run("stock WLa20-9.9").await;
    assert_eq!((told.code, &*told.out), (65, ""));
    assert!(told.err.contains("WLa20-9.9"), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_beats_the_book() {
    let (server, computer) = computer().await;
    server.set_clock("2026-06-15T18:00:00-03:00");
    let computer = computer.at("2026-06-15T18:00:00-03:00");
    let told = computer.run("count collet-2.4 3 --by helper").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(
        told.out,
        "collet-2.4: 3 counted, 2 more than the book's 1. A booking error? Answer question 1.\n"
    );
    assert_eq!(server.on_hand("collet-2.4").await, 3);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_below_nothing_is_refused_here() {
    let (_server, computer) = computer().await;
    let told = computer.run("count collet-2.4 -3").await;
    assert_eq!((told.code, &*told.out), (64, ""));
    assert!(told.err.contains("a count cannot be negative"), "{told:?}");
}
