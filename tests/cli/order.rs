//! `order` and `receive`: from a draft to the goods in the drawer.

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;

use crate::computer::Computer;

const LATER: &str = "2026-06-16T09:00:00-03:00";

async fn shop() -> (TestServer, Computer) {
    let server = furnished().await;
    server.set_clock(LATER);
    let computer = Computer::of(&server).at(LATER);
    (server, computer)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_is_drafted_placed_and_received() {
    let (server, computer) = shop().await;
    let told = computer.run("order R-118 --draft").await;
    assert_eq!((told.code, &*told.err), (0, ""));
    insta::assert_snapshot!(told.out, @r"
    Chance this job runs without a stop: 27 % now, 97 % after this order.
    Order  State  Supplier  For    Part        Pack of  Packs  Received  Price
    -------------------------------------------------------------------------------
        1  draft  quayhead  R-118  WLa20-2.4        10      1         0  42.00 CAD
        1  draft  quayhead  R-118  collet-2.4        5      1         0  12.50 CAD
    ");
    let told = computer.run("order --place 1").await;
    assert_eq!(
        (told.code, &*told.out),
        (0, "Order 1 at quayhead, 54.50 CAD: placed.\n")
    );
    assert_eq!(server.on_hand("WLa20-2.4").await, 3);
    let told = computer.run("receive --order 1").await;
    assert_eq!(
        (told.code, &*told.out),
        (0, "Order 1, quayhead: arrived.\n")
    );
    assert_eq!(server.on_hand("WLa20-2.4").await, 13);
    assert_eq!(server.on_hand("collet-2.4").await, 6);
    let told = computer.run("plan R-118").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.out.contains("97 %; no order is needed"), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_cannot_be_received_twice() {
    let (server, computer) = shop().await;
    computer.run("order R-118 --yes").await;
    computer.run("receive --order 1").await;
    let told = computer.run("receive --order 1").await;
    assert_eq!((told.code, &*told.out), (65, ""));
    assert!(told.err.contains("order 1 is arrived"), "{told:?}");
    assert_eq!(server.on_hand("WLa20-2.4").await, 13);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_of_an_order_can_be_received_by_itself() {
    let (server, computer) = shop().await;
    computer.run("order R-118 --yes").await;
    let told = computer
        .run("receive WLa20-2.4 10 --order 1 --lot L-2231")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(told.out, "Received 10 WLa20-2.4. WLa20-2.4: 13 left.\n");
    let order = server.owner.get_order(1).await.expect("the order");
    assert_eq!(order.state, "part arrived");
    let told = computer.run("receive --order 1").await;
    assert_eq!(
        (told.code, &*told.out),
        (0, "Order 1, quayhead: arrived.\n")
    );
    assert_eq!(server.on_hand("WLa20-2.4").await, 13);
    assert_eq!(server.on_hand("collet-2.4").await, 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_delivery_that_is_not_what_was_ordered_is_told_at_once() {
    let (_server, computer) = shop().await;
    computer.run("order R-118 --yes").await;
    let told = computer.run("receive WLa20-2.4 6 --order 1").await;
    assert_eq!(
        (told.code, &*told.out),
        (
            0,
            "Received 6 WLa20-2.4. WLa20-2.4: 9 left. \
             WLa20-2.4: 6 of 10 came, 4 still to come.\n"
        )
    );
    let told = computer.run("receive gas-lens-2.4 5 --order 1").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.out.contains("fills no line"), "{told:?}");
    let told = computer.run("receive --order 1 --format json").await;
    let order: types::Order = serde_json::from_str(&told.out).expect("it is JSON");
    assert_eq!(order.differences, []);
    assert_eq!(order.says.as_deref(), Some("Order 1, quayhead: arrived."));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cancelled_order_is_not_on_order_any_more() {
    let (server, computer) = shop().await;
    computer.run("order R-118 --yes").await;
    let told = computer.run("order --cancel 1").await;
    assert_eq!(
        (told.code, &*told.out),
        (0, "Order 1 at quayhead, 54.50 CAD: cancelled.\n")
    );
    let query = types::GetStock::default();
    let stock = server
        .owner
        .get_stock("WLa20-2.4", &query)
        .await
        .expect("stock");
    assert_eq!((stock.on_hand, stock.on_order), (3, 0));
    let told = computer.run("receive --order 1").await;
    assert_eq!(told.code, 65, "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_of_a_job_with_enough_drafts_nothing() {
    let (server, computer) = shop().await;
    computer.run("plan R-118 --arc 1h").await;
    let told = computer.run("order R-118 --yes").await;
    assert_eq!(told.code, 0, "{told:?}");
    let orders = server
        .owner
        .list_orders(&types::page::Page::default())
        .await;
    assert_eq!(orders.expect("a page").orders, []);
}
