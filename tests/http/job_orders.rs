//! Scenario S5, the last step: the order is drafted, placed and received, and stock follows it.

use client::Client;
use tigstock_tests::TestServer;
use tigstock_tests::demo::{furnished, needs};
use types::{
    ArrivedLine, DraftOrders, DraftedOrders, NewArrival, NewReceipt, NewReversal, Order, Page,
    ProblemKind,
};

async fn draft(client: &Client, key: &str) -> DraftedOrders {
    client
        .draft_job_orders("R-118", &DraftOrders::default(), key)
        .await
        .expect("a draft")
}

/// The one order of the job, placed.
async fn placed(server: &TestServer) -> Order {
    let drafted = draft(&server.owner, "draft").await;
    let number = drafted.orders[0].number;
    server
        .owner
        .place_order(number)
        .await
        .expect("it is placed")
}

async fn on_order(server: &TestServer) -> [i64; 2] {
    let electrode = server.stock("WLa20-2.4").await;
    let collet = server.stock("collet-2.4").await;
    [electrode.on_order, collet.on_order]
}

async fn on_hand(server: &TestServer) -> [i64; 2] {
    [
        server.on_hand("WLa20-2.4").await,
        server.on_hand("collet-2.4").await,
    ]
}

fn arrived(part: &str, quantity: i64) -> NewArrival {
    NewArrival {
        lines: vec![ArrivedLine {
            part: part.to_owned(),
            quantity,
        }],
        ..NewArrival::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_draft_holds_whole_packs_at_the_prices_of_the_offers() {
    let server = furnished().await;
    let drafted = draft(&server.owner, "draft").await;
    assert!(drafted.says.contains("97 % after"), "{}", drafted.says);
    let [order] = &drafted.orders[..] else {
        panic!("one order: {drafted:?}")
    };
    assert_eq!((&*order.state, &*order.supplier), ("draft", "quayhead"));
    assert_eq!(order.job.as_deref(), Some("R-118"));
    assert_eq!((order.cost_minor, &*order.currency), (5450, "CAD"));
    let lines: Vec<_> = order
        .lines
        .iter()
        .map(|line| (&*line.part, line.packs, line.pack_size, line.cost_minor))
        .collect();
    assert_eq!(
        lines,
        [("WLa20-2.4", 1, 10, 4200), ("collet-2.4", 1, 5, 1250)]
    );
    assert_eq!(on_order(&server).await, [0, 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_placed_is_on_order() {
    let server = furnished().await;
    let order = placed(&server).await;
    assert_eq!(order.state, "placed");
    assert_eq!(on_order(&server).await, [10, 5]);
    let electrode = server.stock("WLa20-2.4").await;
    assert_eq!((electrode.available, electrode.position), (3, 13));
}

#[tokio::test(flavor = "multi_thread")]
async fn placing_twice_does_not_order_twice() {
    let server = furnished().await;
    let order = placed(&server).await;
    server.owner.place_order(order.number).await.unwrap();
    assert_eq!(on_order(&server).await, [10, 5]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_on_order_is_not_ordered_again() {
    let server = furnished().await;
    placed(&server).await;
    let needs = needs(&server).await;
    assert!(needs.orders.is_empty(), "{:?}", needs.orders);
    assert_eq!((needs.lines[0].on_order, needs.lines[0].short), (10, 0));
    // On order comes before the start, and that is said; now it is not here.
    assert!((needs.chance_now - 0.2705).abs() < 5e-5);
    assert!((needs.chance_after - 0.9720).abs() < 5e-5);
    assert_eq!(
        needs.says[0],
        "Chance this job runs without a stop: 27 % now, 97 % with what is on order; \
         no order is needed (target 95 %)."
    );
    assert!(draft(&server.owner, "again").await.orders.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn receiving_puts_13_electrodes_and_6_collets_into_the_drawers() {
    let server = furnished().await;
    let order = placed(&server).await;
    let arrived = server
        .owner
        .receive_order(order.number, &NewArrival::default(), "parcel")
        .await
        .unwrap();
    assert_eq!(arrived.state, "arrived");
    assert_eq!(on_hand(&server).await, [13, 6]);
    assert_eq!(on_order(&server).await, [0, 0]);
    let needs = needs(&server).await;
    assert!((needs.chance_now - 0.9720).abs() < 5e-5);
}

#[tokio::test(flavor = "multi_thread")]
async fn receiving_twice_with_one_key_receives_once() {
    let server = furnished().await;
    let order = placed(&server).await;
    let everything = NewArrival::default();
    let receive = async || {
        server
            .owner
            .receive_order(order.number, &everything, "parcel")
            .await
            .unwrap()
    };
    assert_eq!(receive().await, receive().await);
    assert_eq!(on_hand(&server).await, [13, 6]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_of_an_order_may_arrive_first() {
    let server = furnished().await;
    let order = placed(&server).await;
    let receive = async |arrival: NewArrival, key: &str| {
        let order = server.owner.receive_order(order.number, &arrival, key);
        order.await.expect("it is received")
    };
    let first = receive(arrived("WLa20-2.4", 4), "first").await;
    assert_eq!(
        (&*first.state, first.lines[0].received),
        ("part arrived", 4)
    );
    assert_eq!(on_order(&server).await, [6, 5]);
    assert_eq!(on_hand(&server).await, [7, 1]);
    let rest = receive(NewArrival::default(), "rest").await;
    assert_eq!(rest.state, "arrived");
    assert_eq!(on_hand(&server).await, [13, 6]);
}

#[tokio::test(flavor = "multi_thread")]
async fn more_than_was_ordered_goes_into_stock_and_leaves_nothing_on_order() {
    let server = furnished().await;
    let order = placed(&server).await;
    let twelve = arrived("WLa20-2.4", 12);
    let order = server
        .owner
        .receive_order(order.number, &twelve, "parcel")
        .await
        .unwrap();
    assert_eq!(
        (&*order.state, order.lines[0].received),
        ("part arrived", 10)
    );
    assert_eq!(on_hand(&server).await, [15, 1]);
    assert_eq!(on_order(&server).await, [0, 5]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_is_listed_twice_in_an_arrival_is_refused() {
    let server = furnished().await;
    let order = placed(&server).await;
    let mut twice = arrived("WLa20-2.4", 5);
    twice.lines.push(ArrivedLine {
        part: "wla20-2.4".to_owned(),
        quantity: 5,
    });
    let error = server
        .owner
        .receive_order(order.number, &twice, "parcel")
        .await
        .unwrap_err();
    let problem = error.problem().expect("a problem");
    assert!(error.is(ProblemKind::Invalid), "{problem:?}");
    assert_eq!(problem.violations[0].pointer, "/lines/1/part");
    assert_eq!(on_hand(&server).await, [3, 1]);
}

#[tokio::test(flavor = "multi_thread")]
async fn drafting_again_cancels_the_earlier_draft() {
    let server = furnished().await;
    let first = draft(&server.owner, "first").await.orders.remove(0);
    let second = draft(&server.owner, "second").await.orders.remove(0);
    assert_ne!(first.number, second.number);
    let first = server.owner.get_order(first.number).await.unwrap();
    let second = server.owner.get_order(second.number).await.unwrap();
    assert_eq!((&*first.state, &*second.state), ("cancelled", "draft"));
}

#[tokio::test(flavor = "multi_thread")]
async fn drafting_again_with_the_same_key_gives_the_same_draft() {
    let server = furnished().await;
    let first = draft(&server.owner, "key").await;
    let second = draft(&server.owner, "key").await;
    assert_eq!(first, second);
    let all = server.owner.list_orders(&Page::default()).await.unwrap();
    assert_eq!(all.orders.len(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn cancelling_takes_what_has_not_come_off_what_is_on_order() {
    let server = furnished().await;
    let order = placed(&server).await;
    let four = arrived("WLa20-2.4", 4);
    let number = order.number;
    server
        .owner
        .receive_order(number, &four, "parcel")
        .await
        .unwrap();
    let order = server.owner.cancel_order(number).await.unwrap();
    assert_eq!(order.state, "cancelled");
    assert_eq!(on_order(&server).await, [0, 0]);
    assert_eq!(on_hand(&server).await, [7, 1]);
    let again = server.owner.cancel_order(number).await.unwrap();
    assert_eq!(again.state, "cancelled");
    assert_eq!(on_order(&server).await, [0, 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_state_that_does_not_allow_it_is_a_conflict() {
    let server = furnished().await;
    let drafted = draft(&server.owner, "draft").await;
    let number = drafted.orders[0].number;
    let everything = NewArrival::default();
    let owner = &server.owner;
    let early = owner.receive_order(number, &everything, "early").await;
    assert!(early.unwrap_err().is(ProblemKind::WrongState));
    owner.place_order(number).await.unwrap();
    owner
        .receive_order(number, &everything, "parcel")
        .await
        .unwrap();
    let placed = owner.place_order(number).await;
    assert!(placed.unwrap_err().is(ProblemKind::WrongState));
    let cancelled = owner.cancel_order(number).await;
    assert!(cancelled.unwrap_err().is(ProblemKind::WrongState));
    let received = owner.receive_order(number, &everything, "more").await;
    assert!(received.unwrap_err().is(ProblemKind::WrongState));
    assert_eq!(on_hand(&server).await, [13, 6]);
}

/// Receives so many electrodes for an order, as an entry that can be taken back.
async fn receive(server: &TestServer, order: i64, quantity: i64) -> uuid::Uuid {
    let receipt = NewReceipt {
        part: "WLa20-2.4".to_owned(),
        quantity,
        order: Some(order),
        ..NewReceipt::default()
    };
    let recorded = server.owner.record_receipt(&receipt, "parcel").await;
    recorded.expect("it is received").entry
}

async fn take_back(server: &TestServer, entry: uuid::Uuid) {
    let reversal = NewReversal { entry, why: None };
    let back = server.owner.record_reversal(&reversal, "back").await;
    back.expect("it is taken back");
}

#[tokio::test(flavor = "multi_thread")]
async fn goods_whose_receipt_is_taken_back_are_on_order_again() {
    let server = furnished().await;
    let number = placed(&server).await.number;
    let entry = receive(&server, number, 10).await;
    assert_eq!(on_order(&server).await, [0, 5]);
    take_back(&server, entry).await;
    assert_eq!(on_order(&server).await, [10, 5]);
    assert_eq!(on_hand(&server).await, [3, 1]);
    let order = server.owner.get_order(number).await.unwrap();
    assert_eq!((&*order.state, order.lines[0].received), ("placed", 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_that_was_cancelled_stays_cancelled_when_a_receipt_is_taken_back() {
    let server = furnished().await;
    let number = placed(&server).await.number;
    let entry = receive(&server, number, 4).await;
    server.owner.cancel_order(number).await.unwrap();
    take_back(&server, entry).await;
    let order = server.owner.get_order(number).await.unwrap();
    assert_eq!((&*order.state, order.lines[0].received), ("cancelled", 0));
    assert_eq!(on_order(&server).await, [0, 0]);
    assert_eq!(on_hand(&server).await, [3, 1]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receipt_names_an_order_that_is_there() {
    let server = furnished().await;
    let number = placed(&server).await.number + 1;
    let receipt = NewReceipt {
        part: "WLa20-2.4".to_owned(),
        quantity: 1,
        order: Some(number),
        ..NewReceipt::default()
    };
    let error = server.owner.record_receipt(&receipt, "one").await;
    let error = error.unwrap_err();
    let problem = error.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/order", "{problem:?}");
}
