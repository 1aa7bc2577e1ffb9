//! Taking an entry back: it stays on record, and a new one undoes what it did to stock and wear.

use client::Client;
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::shop::taken;
use types::{
    GetForecasts, ListCounts, ListMovements, NewCount, NewMovement, NewReversal, NewUsage,
    ProblemKind, Recorded, Role,
};
use uuid::Uuid;

const PART: &str = "WLa20-2.4";
const LOGGED: &str = "2026-06-15T12:00:00-03:00";

async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(electrode(PART, "2.4 mm"), 12).await;
    server.torch("T1", &[PART]).await;
    server.set_clock(LOGGED);
    server
}

async fn take_back(client: &Client, entry: Uuid, key: &str) -> Result<Recorded, client::Error> {
    let back = NewReversal {
        entry,
        why: Some("wrong torch".to_owned()),
    };
    client.record_reversal(&back, key).await
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_taken_back_is_in_the_drawer_again_and_both_rows_stay() {
    let server = shop().await;
    let entry = server.take(PART, "one").await.entry;
    let told = take_back(&server.owner, entry, "back").await.unwrap();
    assert_eq!(told.says, "Taken back: usage. WLa20-2.4: 12 left.");
    assert_eq!(
        (told.stock[0].on_hand, server.on_hand(PART).await),
        (12, 12)
    );
    let every = ListMovements::default();
    let rows = server.owner.list_movements(&every);
    let rows: Vec<_> = rows
        .await
        .unwrap()
        .movements
        .into_iter()
        .map(|row| (row.quantity, row.reverses, row.at.to_rfc3339()))
        .collect();
    // The new row is dated as the old one, so that a count between them cannot tell them apart.
    let at = "2026-06-15T15:00:00+00:00".to_owned();
    assert_eq!(rows, [(-1, Some(entry), at.clone()), (1, None, at)]);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_wear_of_what_was_fitted_is_taken_back_too() {
    let server = shop().await;
    let usage = NewUsage {
        torch: Some("T1".to_owned()),
        arc_minutes: Some(600),
        grinds: Some(20),
        what: Some("took".to_owned()),
        ..NewUsage::default()
    };
    let owner = &server.owner;
    let entry = owner.record_usage(&usage, "one").await.unwrap().entry;
    owner.record_usage(&usage, "two").await.unwrap();
    take_back(owner, entry, "back").await.unwrap();
    let query = GetForecasts {
        part: Some(PART.to_owned()),
        arc: Some("10h".to_owned()),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    };
    let told = owner.get_forecasts(&query).await.unwrap();
    let explain = told.forecasts[0].explain.clone().expect("asked for");
    assert_eq!(explain.used, 1);
    assert!((explain.over - 10.0).abs() < 1e-9, "{explain:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_is_taken_back_once() {
    let server = shop().await;
    let entry = server.take(PART, "one").await.entry;
    take_back(&server.owner, entry, "back").await.unwrap();
    let again = take_back(&server.owner, entry, "again").await.unwrap_err();
    assert!(again.is(ProblemKind::WrongState), "{again}");
    // The same request again is only a repeat.
    take_back(&server.owner, entry, "back").await.unwrap();
    assert_eq!(server.on_hand(PART).await, 12);
}

#[tokio::test(flavor = "multi_thread")]
async fn taking_back_is_not_taken_back() {
    let server = shop().await;
    let entry = server.take(PART, "one").await.entry;
    let back = take_back(&server.owner, entry, "back").await.unwrap();
    let error = take_back(&server.owner, back.entry, "back of back").await;
    let error = error.unwrap_err();
    let problem = error.problem().expect("a problem");
    assert!(error.is(ProblemKind::Invalid), "{problem:?}");
    assert!(!problem.violations.is_empty(), "{problem:?}");
    assert_eq!(server.on_hand(PART).await, 12);
}

#[tokio::test(flavor = "multi_thread")]
async fn for_ten_minutes_whoever_logs_may_take_it_back() {
    let server = shop().await;
    let helper = server.client(Role::Log);
    let entry = helper
        .record_usage(&taken(PART), "one")
        .await
        .unwrap()
        .entry;
    server.set_clock("2026-06-15T12:10:00-03:00");
    take_back(&helper, entry, "back").await.unwrap();
    assert_eq!(server.on_hand(PART).await, 12);
}

#[tokio::test(flavor = "multi_thread")]
async fn after_ten_minutes_only_the_role_keep_may() {
    let server = shop().await;
    let helper = server.client(Role::Log);
    let entry = helper
        .record_usage(&taken(PART), "one")
        .await
        .unwrap()
        .entry;
    server.set_clock("2026-06-15T12:10:01-03:00");
    let error = take_back(&helper, entry, "back").await.unwrap_err();
    let problem = error.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/entry", "{problem:?}");
    assert!(problem.detail.contains("10 minutes"), "{problem:?}");
    assert!(problem.detail.contains("keep"), "{problem:?}");
    assert_eq!(server.on_hand(PART).await, 11);
    let keeper = server.client(Role::Keep);
    take_back(&keeper, entry, "back").await.unwrap();
    assert_eq!(server.on_hand(PART).await, 12);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_ten_minutes_run_from_when_it_was_logged_not_from_when_it_happened() {
    let server = shop().await;
    let helper = server.client(Role::Log);
    let yesterday = NewUsage {
        at: Some("2026-06-14T12:00:00-03:00".parse().unwrap()),
        ..taken(PART)
    };
    let told = helper.record_usage(&yesterday, "one").await.unwrap();
    take_back(&helper, told.entry, "back").await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_that_is_taken_back_leaves_what_the_counts_before_it_say() {
    let server = shop().await;
    server.take(PART, "one").await;
    server.set_clock("2026-06-15T12:01:00-03:00");
    let count = NewCount {
        part: PART.to_owned(),
        counted: 3,
        ..NewCount::default()
    };
    let owner = &server.owner;
    let counted = owner.record_count(&count, "count").await.unwrap();
    assert_eq!((counted.on_hand, counted.variance), (3, -8));
    server.set_clock("2026-06-15T12:02:00-03:00");
    server.take(PART, "two").await;
    assert_eq!(server.on_hand(PART).await, 2);
    let back = take_back(owner, counted.entry, "back").await.unwrap();
    assert_eq!(
        (back.stock[0].on_hand, server.on_hand(PART).await),
        (10, 10)
    );
    let counts = owner.list_counts(&ListCounts::default()).await.unwrap();
    let reversed: Vec<_> = counts.counts.iter().map(|row| row.reversed).collect();
    assert_eq!(reversed, [true, false]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_hold_that_is_taken_back_frees_what_was_set_aside() {
    let server = shop().await;
    let hold = NewMovement {
        part: PART.to_owned(),
        kind: "hold".to_owned(),
        quantity: 4,
        ..NewMovement::default()
    };
    let held = server.owner.record_movement(&hold, "hold").await.unwrap();
    take_back(&server.owner, held.entry, "back").await.unwrap();
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hold, stock.available), (0, 12));
}

#[tokio::test(flavor = "multi_thread")]
async fn two_who_take_back_the_same_entry_at_once_take_it_back_once() {
    let server = shop().await;
    let entry = server.take(PART, "one").await.entry;
    let (left, right) = tokio::join!(
        take_back(&server.owner, entry, "left"),
        take_back(&server.owner, entry, "right")
    );
    assert!(left.is_ok() != right.is_ok(), "{left:?} {right:?}");
    assert_eq!(server.on_hand(PART).await, 12);
}
