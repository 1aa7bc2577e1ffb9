//! Goods in: what came is held against what was ordered, and the difference is said at once. A receipt
//! is a fact, so it is recorded whatever it is.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode};
use types::{Order, ProblemKind, Recorded};

/// Order 1 waits for 10 electrodes of 2.4 mm and 5 collets; 2.5 mm and a collet body are known parts.
async fn ordered() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    server.part(electrode("WLa20-2.5", "2.5 mm")).await;
    server.part(collet("collet-2.4")).await;
    for (path, body) in [
        (
            "parts",
            json!({"code": "collet-body-2.4", "kind": "collet-body", "diameter": "2.4 mm", "family": "large"}),
        ),
        (
            "parts",
            json!({"code": "WCe20-2.4", "kind": "electrode", "class": "WCe20", "diameter": "2.4 mm"}),
        ),
        (
            "parts",
            json!({"code": "o-ring-large", "kind": "o-ring", "family": "large"}),
        ),
        (
            "suppliers",
            json!({"code": "quayhead", "currency": "CAD", "lead_time_days": 1}),
        ),
        (
            "offers",
            json!({"supplier": "quayhead", "part": "WLa20-2.4", "pack_size": 10, "price_minor": 4200}),
        ),
        (
            "offers",
            json!({"supplier": "quayhead", "part": "collet-2.4", "pack_size": 5, "price_minor": 1250}),
        ),
        (
            "orders",
            json!({"supplier": "quayhead", "lines": [
                {"part": "WLa20-2.4", "pack_size": 10, "packs": 1},
                {"part": "collet-2.4", "pack_size": 5, "packs": 1},
            ]}),
        ),
        ("orders/1/place", json!({})),
    ] {
        let heard = server
            .ask("POST", &format!("/v1/{path}"))
            .once(path)
            .json(&body)
            .send()
            .await;
        assert!(
            matches!(heard.status, 200 | 201),
            "{path}: {}",
            heard.text()
        );
    }
    server
}

async fn receive(server: &TestServer, key: &str, part: &str, quantity: i64) -> Recorded {
    let body = json!({"part": part, "quantity": quantity, "order": 1});
    let ask = server.ask("POST", "/v1/receipts").once(key).json(&body);
    let heard = ask.send().await;
    assert_eq!(heard.status, 201, "{}", heard.text());
    heard.read()
}

async fn deliver(server: &TestServer, key: &str, lines: Value) -> Order {
    let ask = server.ask("POST", "/v1/orders/1/receive").once(key);
    let heard = ask.json(&json!({ "lines": lines })).send().await;
    assert_eq!(heard.status, 200, "{}", heard.text());
    heard.read()
}

async fn order(server: &TestServer) -> Order {
    server.owner.get_order(1).await.expect("the order")
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_to_come_differs_in_nothing() {
    let server = ordered().await;
    let told = receive(&server, "a", "WLa20-2.4", 10).await;
    assert_eq!(told.differences, []);
    let told = deliver(&server, "rest", json!([])).await;
    assert_eq!(told.differences, []);
    assert_eq!(told.says.as_deref(), Some("Order 1, quayhead: arrived."));
    // An order that is only read was not delivered.
    assert_eq!(order(&server).await.says, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn less_than_was_to_come_is_short_until_the_rest_comes() {
    let server = ordered().await;
    let told = receive(&server, "a", "WLa20-2.4", 6).await;
    let [short] = &told.differences[..] else {
        panic!("one difference: {told:?}");
    };
    assert_eq!((&*short.kind, short.ordered, short.came), ("short", 10, 6));
    assert_eq!(short.says, "WLa20-2.4: 6 of 10 came, 4 still to come.");
    assert!(told.says.ends_with(&short.says), "{told:?}");
    let told = receive(&server, "b", "WLa20-2.4", 4).await;
    assert_eq!(told.differences, []);
}

#[tokio::test(flavor = "multi_thread")]
async fn more_than_was_to_come_is_over_and_recorded() {
    let server = ordered().await;
    let told = deliver(
        &server,
        "a",
        json!([{"part": "WLa20-2.4", "quantity": 12}, {"part": "collet-2.4", "quantity": 5}]),
    )
    .await;
    let [over] = &told.differences[..] else {
        panic!("one difference: {told:?}");
    };
    assert_eq!((&*over.kind, over.ordered, over.came), ("over", 10, 12));
    assert!(over.says.contains("2 more than ordered"), "{over:?}");
    assert_eq!(told.state, "arrived");
    assert_eq!(server.on_hand("WLa20-2.4").await, 12);
}

#[tokio::test(flavor = "multi_thread")]
async fn another_diameter_is_the_wrong_size_and_fills_no_line() {
    let server = ordered().await;
    let told = receive(&server, "a", "WLa20-2.5", 10).await;
    let [wrong] = &told.differences[..] else {
        panic!("one difference: {told:?}");
    };
    assert_eq!(wrong.kind, "wrong size");
    assert_eq!(wrong.instead_of.as_deref(), Some("WLa20-2.4"));
    assert_eq!((wrong.ordered, wrong.came), (10, 10));
    for words in [
        "2.5 is not 2.4, and it needs its own collet",
        "10 WLa20-2.4 still to come",
    ] {
        assert!(wrong.says.contains(words), "{wrong:?}");
    }
    assert_eq!(server.on_hand("WLa20-2.5").await, 10);
    let stock = server.stock("WLa20-2.4").await;
    assert_eq!((stock.on_hand, stock.on_order), (0, 10));
    let order = order(&server).await;
    assert_eq!(order.state, "placed");
    assert!(
        order.lines.iter().all(|line| line.received == 0),
        "{order:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn collet_bodies_for_collets_are_the_wrong_part() {
    let server = ordered().await;
    let told = deliver(
        &server,
        "a",
        json!([{"part": "WLa20-2.4", "quantity": 10}, {"part": "collet-body-2.4", "quantity": 5}]),
    )
    .await;
    let [wrong] = &told.differences[..] else {
        panic!("one difference: {told:?}");
    };
    assert_eq!(
        (&*wrong.part, &*wrong.kind),
        ("collet-body-2.4", "wrong part")
    );
    assert_eq!(wrong.instead_of.as_deref(), Some("collet-2.4"));
    assert!(
        wrong.says.contains("collet body is not collet"),
        "{wrong:?}"
    );
    assert_eq!(told.state, "part arrived");
    let says = told.says.as_deref().unwrap_or_default();
    assert!(
        says.starts_with("Order 1, quayhead: part arrived. "),
        "{says}"
    );
    assert!(says.ends_with(&wrong.says), "{says}");
    assert_eq!(server.on_hand("collet-body-2.4").await, 5);
    assert_eq!(server.stock("collet-2.4").await.on_order, 5);
}

#[tokio::test(flavor = "multi_thread")]
async fn another_class_or_something_else_altogether_is_the_wrong_part() {
    let server = ordered().await;
    let told = receive(&server, "a", "WCe20-2.4", 10).await;
    assert_eq!(told.differences[0].kind, "wrong part");
    assert!(told.says.contains("WCe20 is not WLa20"), "{told:?}");
    let told = receive(&server, "b", "o-ring-large", 3).await;
    let wrong = &told.differences[0];
    // Two lines wait, neither for an O-ring: nobody can say for which it came.
    assert_eq!(
        (&*wrong.kind, &wrong.instead_of, wrong.ordered),
        ("wrong part", &None, 0)
    );
    assert!(wrong.says.contains("not on order 1"), "{wrong:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_repeat_tells_the_same_difference() {
    let server = ordered().await;
    let lines = json!([{"part": "WLa20-2.4", "quantity": 6}]);
    let first = deliver(&server, "a", lines.clone()).await;
    let again = deliver(&server, "a", lines).await;
    assert_eq!(first, again);
    assert_eq!(server.on_hand("WLa20-2.4").await, 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_part_that_is_taken_back_leaves_the_order_as_it_was() {
    let server = ordered().await;
    let before = order(&server).await;
    let told = receive(&server, "a", "WLa20-2.5", 10).await;
    let body = json!({"entry": told.entry});
    let back = server.ask("POST", "/v1/reversals").once("back").json(&body);
    assert_eq!(back.send().await.status, 201);
    assert_eq!(order(&server).await, before);
    assert_eq!(server.on_hand("WLa20-2.5").await, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn goods_without_an_order_differ_from_nothing() {
    let server = ordered().await;
    let body = json!({"part": "WLa20-2.5", "quantity": 10});
    let ask = server.ask("POST", "/v1/receipts").once("a").json(&body);
    let told: Recorded = ask.send().await.read();
    assert_eq!(told.differences, []);
    let cancel = server.ask("POST", "/v1/orders/1/cancel").json(&json!({}));
    assert_eq!(cancel.send().await.status, 200);
    let body = json!({"part": "WLa20-2.5", "quantity": 10, "order": 1});
    let ask = server.ask("POST", "/v1/receipts").once("b").json(&body);
    let problem = ask.send().await.problem(ProblemKind::Invalid);
    assert_eq!(problem.violations[0].pointer, "/order", "{problem:?}");
}
