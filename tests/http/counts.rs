//! Counts: a count beats every calculation, and what happened before it explains it.

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{Counted, GetStock, ListCounts, NewCount, NewMovement, NewReceipt, NewUsage, Recorded};

const PART: &str = "WLa20-2.4";

/// A shop at noon whose book says 12: that many were counted at eight.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(electrode(PART, "2.4 mm"), 12).await;
    server.set_clock("2026-06-15T12:00:00-03:00");
    server
}

fn at(time: &str) -> chrono::DateTime<chrono::FixedOffset> {
    let at = format!("2026-06-15T{time}:00-03:00");
    at.parse().expect("an instant")
}

async fn count(server: &TestServer, counted: i64, time: &str) -> Counted {
    let count = NewCount {
        part: PART.to_owned(),
        counted,
        at: Some(at(time)),
        ..NewCount::default()
    };
    let key = format!("count-{time}-{counted}");
    let counted = server.owner.record_count(&count, &key).await;
    counted.expect("it is counted")
}

async fn take(server: &TestServer, quantity: i64, time: &str) -> Recorded {
    let usage = NewUsage {
        what: Some("took".to_owned()),
        part: Some(PART.to_owned()),
        qty: Some(quantity),
        at: Some(at(time)),
        ..NewUsage::default()
    };
    let key = format!("take-{time}-{quantity}");
    let recorded = server.owner.record_usage(&usage, &key).await;
    recorded.expect("it is recorded")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_tells_what_the_book_said_and_by_how_much_it_differs() {
    let server = shop().await;
    take(&server, 1, "09:00").await;
    let told = count(&server, 9, "10:00").await;
    assert_eq!((told.counted, told.book, told.variance), (9, 11, -2));
    assert_eq!(told.on_hand, 9);
    assert_eq!(
        told.says,
        "WLa20-2.4: 9 counted, 2 fewer than the book's 11. Used and not logged, or a booking \
         error? Answer question 1."
    );
    let told = count(&server, 9, "11:00").await;
    assert_eq!((told.book, told.variance), (9, 0));
    assert_eq!(told.says, "WLa20-2.4: 9 counted, as the book says.");
    let told = count(&server, 10, "12:00").await;
    assert!(told.says.contains("1 more than"), "{}", told.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_happened_before_a_count_changes_the_stock_no_more() {
    let server = shop().await;
    count(&server, 11, "10:00").await;
    let told = take(&server, 3, "09:00").await;
    assert_eq!(told.stock[0].on_hand, 11);
    assert_eq!(server.on_hand(PART).await, 11);
    // It is on record all the same.
    assert_eq!(server.rows().await, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_happened_after_a_count_is_taken_off_it_in_whatever_order_it_comes_in() {
    let server = shop().await;
    take(&server, 2, "11:00").await;
    let told = count(&server, 11, "10:00").await;
    assert_eq!((told.book, told.variance, told.on_hand), (12, -1, 9));
    assert!(told.says.contains(" 9 on hand now."), "{}", told.says);
    take(&server, 1, "11:30").await;
    assert_eq!(server.on_hand(PART).await, 8);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_happened_at_the_instant_of_a_count_is_in_the_count() {
    let server = shop().await;
    take(&server, 2, "10:00").await;
    count(&server, 10, "10:00").await;
    take(&server, 1, "10:00").await;
    assert_eq!(server.on_hand(PART).await, 10);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_older_than_a_newer_one_is_history() {
    let server = shop().await;
    count(&server, 5, "11:00").await;
    let older = count(&server, 10, "10:00").await;
    assert_eq!((older.book, older.variance, older.on_hand), (12, -2, 5));
    assert_eq!(server.on_hand(PART).await, 5);
    let stock = server.stock(PART).await;
    assert_eq!(stock.counted_at, Some(at("11:00").to_utc()));
}

#[tokio::test(flavor = "multi_thread")]
async fn counting_none_is_a_count() {
    let server = shop().await;
    assert_eq!(count(&server, 0, "10:00").await.on_hand, 0);
    assert_eq!(server.on_hand(PART).await, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn counts_are_listed_with_the_book_of_their_time() {
    let server = shop().await;
    count(&server, 9, "10:00").await;
    let page = server.owner.list_counts(&ListCounts::default()).await;
    let rows: Vec<_> = page
        .unwrap()
        .counts
        .into_iter()
        .map(|row| (row.counted, row.book, row.reversed))
        .collect();
    assert_eq!(rows, [(9, 12, false), (12, 0, false)]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stock_figure_is_explained_by_a_sum_that_can_be_redone() {
    let server = shop().await;
    count(&server, 11, "09:00").await;
    take(&server, 2, "10:00").await;
    take(&server, 1, "10:30").await;
    let receipt = NewReceipt {
        part: PART.to_owned(),
        quantity: 10,
        at: Some(at("11:00")),
        ..NewReceipt::default()
    };
    server
        .owner
        .record_receipt(&receipt, "parcel")
        .await
        .unwrap();
    for (kind, quantity, why) in [
        ("scrap", 1, None),
        ("hold", 2, None),
        ("adjustment", -3, Some("moved")),
    ] {
        let moved = NewMovement {
            part: PART.to_owned(),
            kind: kind.to_owned(),
            quantity,
            why: why.map(str::to_owned),
            ..NewMovement::default()
        };
        server.owner.record_movement(&moved, kind).await.unwrap();
    }
    let told = server.owner.explain_stock(PART, &GetStock::default()).await;
    let told = told.unwrap();
    assert_eq!((told.counted, told.stock.on_hand), (Some(11), 14));
    let sum: i64 = told.moved.iter().map(|moved| moved.quantity).sum();
    assert_eq!(told.counted.unwrap_or(0) + sum, told.stock.on_hand);
    let mut moved: Vec<_> = told
        .moved
        .iter()
        .map(|moved| (&*moved.kind, moved.quantity, moved.entries))
        .collect();
    moved.sort_unstable();
    let expected = [
        ("adjustment", -3, 1),
        ("hold", 0, 1),
        ("issue", -3, 2),
        ("receipt", 10, 1),
        ("scrap", -1, 1),
    ];
    assert_eq!(moved, expected);
    for words in [
        "11 counted on 15 Jun 2026 12:00 UTC",
        "+10 receipt",
        "-3 issue",
        "14 on hand",
    ] {
        assert!(told.says.contains(words), "{}", told.says);
    }
    assert_eq!((told.stock.on_hold, told.stock.available), (2, 12));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_was_never_counted_starts_from_nothing() {
    let server = TestServer::start().await;
    server.part(electrode(PART, "2.4 mm")).await;
    server.take(PART, "one").await;
    let told = server.owner.explain_stock(PART, &GetStock::default()).await;
    let told = told.unwrap();
    assert_eq!((told.counted, told.stock.counted_at), (None, None));
    assert!(told.says.starts_with("Never counted"), "{}", told.says);
    assert!(told.says.ends_with("-1 on hand."), "{}", told.says);
}
