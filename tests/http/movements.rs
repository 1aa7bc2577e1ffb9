//! Movements that are no use, receipt or count: holds, returns, scrap and adjustments.

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{GetForecasts, GetStock, NewMovement, NewSite, NewUsage, ProblemKind, Recorded, Stock};

const PART: &str = "WLa20-2.4";

/// A shop with 10 electrodes and arc time on the torch that has them fitted.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(electrode(PART, "2.4 mm"), 10).await;
    server.torch("T1", &[PART]).await;
    server.set_clock("2026-06-15T08:01:00-03:00");
    server
}

async fn movement(
    server: &TestServer,
    kind: &str,
    quantity: i64,
) -> Result<Recorded, client::Error> {
    let moved = NewMovement {
        part: PART.to_owned(),
        kind: kind.to_owned(),
        quantity,
        why: (kind == "adjustment").then(|| "booked to the wrong part".to_owned()),
        ..NewMovement::default()
    };
    let key = uuid::Uuid::now_v7().to_string();
    server.owner.record_movement(&moved, &key).await
}

fn figures(stock: &Stock) -> [i64; 4] {
    [
        stock.on_hand,
        stock.on_hold,
        stock.available,
        stock.position,
    ]
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_on_hold_is_on_hand_and_not_available() {
    let server = shop().await;
    let told = movement(&server, "hold", 4).await.unwrap();
    assert_eq!((told.stock[0].on_hand, told.stock[0].available), (10, 6));
    assert_eq!(
        told.says,
        "Put on hold 4 WLa20-2.4. WLa20-2.4: 10 left. 6 available."
    );
    assert_eq!(figures(&server.stock(PART).await), [10, 4, 6, 6]);
    movement(&server, "release", 3).await.unwrap();
    assert_eq!(figures(&server.stock(PART).await), [10, 1, 9, 9]);
}

#[tokio::test(flavor = "multi_thread")]
async fn no_more_than_what_is_on_hold_is_released() {
    let server = shop().await;
    movement(&server, "hold", 4).await.unwrap();
    let error = movement(&server, "release", 5).await.unwrap_err();
    assert!(error.is(ProblemKind::Invalid));
    let problem = error.problem().expect("a problem");
    assert!(problem.detail.contains("4 on hold"), "{problem:?}");
    assert_eq!(figures(&server.stock(PART).await), [10, 4, 6, 6]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_on_hold_is_in_no_forecast() {
    let server = shop().await;
    movement(&server, "hold", 4).await.unwrap();
    let query = GetForecasts {
        part: Some(PART.to_owned()),
        arc: Some("10h".to_owned()),
        ..GetForecasts::default()
    };
    let told = server.owner.get_forecasts(&query).await.unwrap();
    assert_eq!(told.forecasts[0].available, 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn more_on_hold_than_there_is_leaves_nothing_available() {
    let server = shop().await;
    movement(&server, "hold", 12).await.unwrap();
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.available), (10, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn each_kind_changes_what_is_on_hand_by_its_sign() {
    let server = shop().await;
    for (kind, quantity, on_hand) in [
        ("issue", 2, 8),
        ("return", 1, 9),
        ("scrap", 3, 6),
        ("adjustment", 5, 11),
        ("adjustment", -4, 7),
        ("hold", 2, 7),
        ("release", 2, 7),
        ("supplier-return", 2, 5),
    ] {
        let told = movement(&server, kind, quantity).await.unwrap();
        assert_eq!(told.stock[0].on_hand, on_hand, "{kind} {quantity}");
    }
    assert_eq!(server.on_hand(PART).await, 5);
}

/// Parts used, as the forecast knows them.
async fn used(server: &TestServer) -> i64 {
    let usage = NewUsage {
        torch: Some("T1".to_owned()),
        arc_minutes: Some(60),
        ..NewUsage::default()
    };
    let key = uuid::Uuid::now_v7().to_string();
    let logged = server.owner.record_usage(&usage, &key).await;
    logged.expect("it is logged");
    let query = GetForecasts {
        part: Some(PART.to_owned()),
        arc: Some("10h".to_owned()),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    };
    let told = server.owner.get_forecasts(&query).await;
    let mut told = told.expect("forecasts");
    told.forecasts.remove(0).explain.expect("asked for").used
}

#[tokio::test(flavor = "multi_thread")]
async fn only_use_enters_the_wear_rate() {
    let server = shop().await;
    movement(&server, "scrap", 2).await.unwrap();
    movement(&server, "supplier-return", 1).await.unwrap();
    movement(&server, "adjustment", -2).await.unwrap();
    movement(&server, "hold", 1).await.unwrap();
    assert_eq!(used(&server).await, 0);
    movement(&server, "issue", 3).await.unwrap();
    assert_eq!(used(&server).await, 3);
    movement(&server, "return", 1).await.unwrap();
    assert_eq!(used(&server).await, 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn sites_have_their_own_stock() {
    let server = shop().await;
    let school = NewSite {
        code: "school".to_owned(),
        name: None,
        zone: "America/Halifax".to_owned(),
        ..NewSite::default()
    };
    server.owner.create_site(&school).await.unwrap();
    let moved = NewMovement {
        part: PART.to_owned(),
        kind: "return".to_owned(),
        quantity: 2,
        site: Some("SCHOOL".to_owned()),
        ..NewMovement::default()
    };
    server.owner.record_movement(&moved, "moved").await.unwrap();
    let query = GetStock {
        site: Some("school".to_owned()),
        ..GetStock::default()
    };
    let there = server.owner.get_stock(PART, &query).await.unwrap();
    assert_eq!((there.on_hand, &*there.site), (2, "school"));
    assert_eq!(server.on_hand(PART).await, 10);
}
