//! `stock` and `count`: how many there are, and what a count changes.

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;

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
async fn the_stock_of_one_part_is_told_as_csv_and_json() {
    let (_server, computer) = computer().await;
    let told = computer.run("stock WLa20-2.4 --format csv").await;
    assert_eq!(
        told.out,
        "part,name,site,unit,on_hand,on_hold,available,on_order,position,counted_at,as_of,state,held_because\r\n\
         WLa20-2.4,\"Electrode WLa20 2.4 mm, 175 mm long\",shop,piece,3,0,3,0,3,\
         2026-06-15T10:59:00+00:00,2026-06-15T11:00:00+00:00,,\r\n"
    );
    let told = computer.run("stock WLa20-2.4 --format json").await;
    let stock: types::Stock = serde_json::from_str(&told.out).expect("it is JSON");
    assert_eq!(
        (&*stock.part, stock.on_hand, stock.available),
        ("WLa20-2.4", 3, 3)
    );
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
        "collet-2.4: 3 counted, 2 more than the book's 1.\n"
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
