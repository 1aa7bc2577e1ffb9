//! A database file that is carried over to PostgreSQL: everything is there, the service goes on from it, and
//! nothing is ever carried into what somebody uses.

use chrono::TimeDelta;
use server::service::Clock;
use server::service::rebuild::rebuild;
use server::upkeep::Progress;
use server::upkeep::carry::carry;
use tigstock_tests::builders::electrode;
use tigstock_tests::database::{Scratch, is_without_server};
use tigstock_tests::{TestServer, config, instant};

const PART: &str = "WLa20-2.4";
const OTHER: &str = "WLa20-1.6";

/// A shop in a file, with a torch, counts and thirty pieces taken.
async fn shop() -> TestServer {
    let clock = Clock::standing_at(instant("2026-06-15T12:00:00Z"));
    let server = TestServer::on_file(clock, config()).await;
    server.stocked(electrode(PART, "2.4 mm"), 40).await;
    server.stocked(electrode(OTHER, "1.6 mm"), 7).await;
    server.torch("T1", &[PART]).await;
    server.pass(TimeDelta::minutes(1));
    for index in 0..30 {
        server.take(PART, &format!("take-{index}")).await;
    }
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_that_is_moved_to_a_server_is_there_as_it_was_and_goes_on() {
    if is_without_server("there is none to move to") {
        return;
    }
    let (from, target) = (shop().await, Scratch::empty().await);
    let carried = carry(from.file(), target.location(), Progress::silent()).await;
    let carried = carried.expect("it is moved");
    let rows = |table: &str| {
        let found = carried.iter().find(|it| it.table == table);
        found.map(|it| it.rows)
    };
    // Two first counts and thirty takes; the table of the migrations is none of ours.
    assert_eq!(rows("entries"), Some(32));
    assert_eq!(rows("parts"), Some(2));
    assert_eq!(rows("seaql_migrations"), None);
    let moved = TestServer::over(target.location(), from.clock.clone()).await;
    for part in [PART, OTHER] {
        assert_eq!(moved.stock(part).await, from.stock(part).await);
    }
    let repeated = moved.ask_as(from.key(types::Role::Own), "POST", "/v1/usage");
    let body = serde_json::to_value(tigstock_tests::shop::taken(PART)).expect("JSON");
    let repeated = repeated.once("take-0").json(&body).send().await;
    assert!(matches!(repeated.status, 200 | 201), "{}", repeated.text());
    assert_eq!(
        moved.on_hand(PART).await,
        10,
        "a repeat is one there as well"
    );
    // What is numbered goes on after the last number.
    moved.stocked(electrode("WLa20-3.2", "3.2 mm"), 3).await;
    moved.take(PART, "after").await;
    assert_eq!(moved.on_hand(PART).await, 9);
    let rebuilt = rebuild(&moved.context).await.expect("a rebuild");
    assert_eq!((rebuilt.levels_wrong, rebuilt.wear_wrong), (0, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_database_that_is_used_is_not_moved_into() {
    if is_without_server("there is none to move to") {
        return;
    }
    let (from, used) = (shop().await, TestServer::start().await);
    used.stocked(electrode(OTHER, "1.6 mm"), 3).await;
    let refused = carry(from.file(), used.database(), Progress::silent()).await;
    let why = refused.expect_err("it is used");
    assert!(why.contains("there are rows in the table"), "{why}");
    assert_eq!(used.on_hand(OTHER).await, 3);
    used.take(OTHER, "after").await;
    assert_eq!(used.on_hand(OTHER).await, 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_is_no_place_to_move_to() {
    let (from, to) = (shop().await, Scratch::file());
    let refused = carry(from.file(), to.location(), Progress::silent()).await;
    assert!(refused.is_err_and(|why| why.contains("is a file")));
}
