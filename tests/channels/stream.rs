//! The stream of events: who comes again misses nothing, who missed too much is told, and a service that
//! stops is not held up by its readers.

use std::time::{Duration, Instant};

use client::{Events, Told};
use reqwest::header::CONTENT_TYPE;
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter};
use server::config::Config;
use server::service::Clock;
use server::store::entity::{deliveries, events};
use tigstock_tests::{TestServer, config, instant};
use types::{FollowEvents, ProblemKind, Role};
use uuid::Uuid;

const NOW: &str = "2026-06-15T11:00:00Z";
/// How long a test waits for what must come; it fails the test, and paces nothing.
const PATIENCE: Duration = Duration::from_secs(30);

async fn follow(server: &TestServer, after: Option<i64>) -> Events {
    let query = FollowEvents { after, once: None };
    let client = server.client(Role::Read);
    client.follow_events(&query).await.expect("a stream")
}

async fn next(events: &mut Events) -> Option<Told> {
    let told = tokio::time::timeout(PATIENCE, events.next()).await;
    told.expect("in time").expect("it goes on")
}

async fn ids(events: &mut Events, count: usize) -> Vec<Uuid> {
    let mut ids = Vec::new();
    while ids.len() < count {
        match next(events).await {
            Some(Told::Event(event)) => ids.push(event.id),
            other => panic!("{other:?}"),
        }
    }
    ids
}

#[tokio::test(flavor = "multi_thread")]
async fn two_readers_have_the_same_and_one_that_comes_again_misses_nothing() {
    let server = TestServer::at(NOW).await;
    let mut told = vec![server.tell("a", "before anybody listens").await];
    let (mut one, mut all) = (follow(&server, None).await, follow(&server, Some(0)).await);
    told.push(server.tell("a", "one").await);
    told.push(server.tell("b", "two").await);
    assert_eq!(ids(&mut one, 2).await, told[1..]);
    let last = one.last();
    drop(one);
    told.push(server.tell("a", "three").await);
    told.push(server.tell("b", "four").await);
    let mut again = follow(&server, last).await;
    assert_eq!(ids(&mut again, 2).await, told[3..]);
    assert_eq!(ids(&mut all, 5).await, told);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_header_goes_before_the_query() {
    let server = TestServer::at(NOW).await;
    for says in ["one", "two", "three"] {
        server.tell("a", says).await;
    }
    let ask = server.ask("GET", "/v1/events?after=0&once=true");
    let heard = ask.header("Last-Event-ID", "2").send().await;
    assert_eq!(heard.header("content-type"), "text/event-stream");
    let text = heard.text();
    assert!(
        text.contains("\nid: 3\nevent: warning.told\ndata: {"),
        "{text}"
    );
    assert!(!text.contains("id: 2\n"), "{text}");
    assert!(text.starts_with("retry: "), "{text}");
    for (path, header) in [("?after=-1", None), ("", Some("x")), ("", Some("-1"))] {
        let mut ask = server.ask("GET", &format!("/v1/events{path}"));
        if let Some(header) = header {
            ask = ask.header("Last-Event-ID", header);
        }
        ask.send().await.problem(ProblemKind::Invalid);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn who_was_away_for_too_long_is_told_to_read_afresh() {
    let server = TestServer::at(NOW).await;
    for says in ["one", "two", "three"] {
        server.tell("a", says).await;
    }
    server.set_clock("2026-10-01T00:00:00Z");
    let kept = server.tell("a", "four").await;
    let forgotten = server::service::events::forget(&server.context).await;
    assert_eq!(forgotten.expect("forgotten"), 3);
    for seen in [1, 99] {
        let mut events = follow(&server, Some(seen)).await;
        assert_eq!(next(&mut events).await, Some(Told::Reset), "{seen}");
        assert_eq!(ids(&mut events, 1).await, [kept]);
    }
    let mut events = follow(&server, Some(3)).await;
    assert_eq!(ids(&mut events, 1).await, [kept], "nothing was missed");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_still_on_its_way_is_not_forgotten() {
    let server = TestServer::at(NOW).await;
    server.webhook("http://127.0.0.1:9/").await;
    server.tell("a", "one").await;
    server.tell("a", "two").await;
    server.set_clock("2026-10-01T00:00:00Z");
    let forgotten = server::service::events::forget(&server.context).await;
    assert_eq!(forgotten.expect("none"), 0);
    let db = server.context.store.read();
    let events = events::Entity::find().all(db).await.expect("events");
    assert_eq!(events.len(), 2);
    let waiting = deliveries::Entity::find()
        .filter(deliveries::Column::State.eq("waiting"))
        .all(db)
        .await;
    assert_eq!(waiting.expect("deliveries").len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stream_outlives_the_time_that_a_request_may_take_and_says_that_it_lives() {
    let config = Config {
        request_timeout_seconds: 1,
        ..config()
    };
    let server = TestServer::with_config(Clock::standing_at(instant(NOW)), config).await;
    let http = reqwest::Client::builder()
        .no_proxy()
        .tls_certs_only([])
        .build()
        .expect("a client");
    let request = http
        .get(format!("{}/v1/events", server.url))
        .header("accept-encoding", "gzip")
        .bearer_auth(server.key(Role::Read));
    let mut response = request.send().await.expect("an answer");
    assert_eq!(response.headers()[CONTENT_TYPE], "text/event-stream");
    let began = Instant::now();
    let mut text = String::new();
    while !text.contains("\n: nothing new\n") {
        let chunk = tokio::time::timeout(PATIENCE, response.chunk()).await;
        let chunk = chunk.expect("in time").expect("it goes on");
        text.push_str(std::str::from_utf8(&chunk.expect("no end")).expect("text"));
    }
    assert!(began.elapsed() > Duration::from_secs(10));
    server.tell("a", "one").await;
    let chunk = tokio::time::timeout(PATIENCE, response.chunk()).await;
    let chunk = chunk.expect("in time").expect("it goes on");
    assert!(String::from_utf8_lossy(&chunk.expect("no end")).contains("id: 1\n"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_service_that_stops_ends_its_streams() {
    let server = TestServer::at(NOW).await;
    let mut events = follow(&server, None).await;
    let began = Instant::now();
    let reading = tokio::spawn(async move { next(&mut events).await });
    server.stop().await;
    assert_eq!(reading.await.expect("it ends"), None);
    // Well before the service would break connections off.
    assert!(
        began.elapsed() < Duration::from_secs(8),
        "{:?}",
        began.elapsed()
    );
}
