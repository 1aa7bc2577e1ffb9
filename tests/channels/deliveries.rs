//! Nothing that is told is lost, whatever the receiver does and whenever the service dies: each event
//! arrives at least once, under one id, in the order of its subject.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::Duration;

use chrono::TimeDelta;
use server::channels::deliver_due;
use server::service::{Context, deliveries};
use server::store::Store;
use tigstock_tests::TestServer;
use tigstock_tests::door::Door;
use tigstock_tests::receiver::{Receiver, Reply};
use types::{Event, FollowEvents};
use uuid::Uuid;

const NOW: &str = "2026-06-15T11:00:00Z";

/// Ids without their repeats, in the order in which they came first: what a receiver has that keeps to
/// the ids.
fn once(ids: &[String]) -> Vec<String> {
    let mut seen = BTreeSet::new();
    let new = ids.iter().filter(|id| seen.insert((*id).clone()));
    new.cloned().collect()
}

fn texts(ids: &[Uuid]) -> Vec<String> {
    ids.iter().map(Uuid::to_string).collect()
}

async fn events(server: &TestServer) -> Vec<Event> {
    let query = FollowEvents {
        after: Some(0),
        once: Some(true),
    };
    let mut stream = server.owner.follow_events(&query).await.expect("a stream");
    let mut events = Vec::new();
    while let Some(told) = stream.next().await.expect("it goes on") {
        if let client::Told::Event(event) = told {
            events.push(*event);
        }
    }
    events
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receiver_that_was_down_for_a_day_misses_nothing() {
    let server = TestServer::at(NOW).await;
    let receiver = Receiver::start();
    let mut door = Door::shut();
    server.webhook(&door.url).await;
    let mut cups = Vec::new();
    for says in ["one", "two", "three"] {
        cups.push(server.tell("cup-7", says).await);
    }
    let collet = server.tell("collet-2.4", "four").await;
    let mut tries = 0;
    for _ in 0..24 * 60 {
        tries += server.deliver().await;
        server.pass(TimeDelta::minutes(1));
    }
    // At once, then after 5 s, 5 min, 30 min, 2 h, 5 h and 10 h: seven tries of the first about each of two
    // subjects. The next would be after 14 h more.
    assert_eq!(tries, 14);
    door.open(&receiver.url);
    for _ in 0..24 * 6 {
        server.deliver().await;
        server.pass(TimeDelta::minutes(10));
    }
    let ids = receiver.ids();
    assert_eq!(ids.len(), 4, "each arrived once");
    let of_cups: Vec<String> = ids
        .iter()
        .filter(|id| **id != collet.to_string())
        .cloned()
        .collect();
    assert_eq!(
        of_cups,
        texts(&cups),
        "in the order in which they were told"
    );
    assert!(ids.contains(&collet.to_string()));
}

#[tokio::test(flavor = "multi_thread")]
async fn every_try_has_the_same_id_and_body_and_its_own_time() {
    let server = TestServer::at(NOW).await;
    let tries = AtomicUsize::new(0);
    let receiver = Receiver::judging(move |_| match tries.fetch_add(1, Ordering::SeqCst) {
        0 => Reply::of(500),
        1 => Reply::Close,
        2 => Reply::of(429),
        _ => Reply::of(200),
    });
    let webhook = server.webhook(&receiver.url).await.webhook.id;
    let id = server.tell("cup-7", "one").await;
    for _ in 0..5 {
        server.deliver().await;
        server.pass(TimeDelta::minutes(40));
    }
    let got = receiver.got();
    assert_eq!(receiver.ids(), vec![id.to_string(); 4]);
    assert!(got.iter().all(|it| it.body == got[0].body));
    let times: BTreeSet<&str> = got
        .iter()
        .map(|it| it.header("webhook-timestamp"))
        .collect();
    assert_eq!(times.len(), 4);
    let told = server
        .owner
        .get_webhook(webhook)
        .await
        .expect("it is there");
    assert_eq!((told.state.as_str(), told.sending.waiting), ("in use", 0));
    assert_eq!(told.sending.failing_since, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_later_waits_for_what_is_earlier_about_the_same_and_for_nothing_else() {
    let server = TestServer::at(NOW).await;
    let broken = Arc::new(AtomicBool::new(true));
    let is_broken = Arc::clone(&broken);
    let receiver = Receiver::judging(move |got| {
        let is_first = got.json()["data"]["says"] == "first";
        if is_first && is_broken.load(Ordering::SeqCst) {
            Reply::of(500)
        } else {
            Reply::of(204)
        }
    });
    server.webhook(&receiver.url).await;
    let first = server.tell("cup-7", "first").await;
    let second = server.tell("cup-7", "second").await;
    let other = server.tell("collet-2.4", "other").await;
    server.deliver().await;
    let ids: BTreeSet<String> = receiver.ids().into_iter().collect();
    assert_eq!(ids, texts(&[first, other]).into_iter().collect());
    server.pass(TimeDelta::minutes(1));
    broken.store(false, Ordering::SeqCst);
    server.deliver().await;
    let ids = receiver.ids();
    assert_eq!(ids[ids.len() - 2..], texts(&[first, second]));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receiver_that_asks_for_time_gets_it() {
    let server = TestServer::at(NOW).await;
    let tries = AtomicUsize::new(0);
    let receiver = Receiver::judging(move |_| match tries.fetch_add(1, Ordering::SeqCst) {
        0 => Reply::Status(503, "retry-after", "3600".to_owned()),
        _ => Reply::of(204),
    });
    server.webhook(&receiver.url).await;
    server.tell("cup-7", "one").await;
    server.deliver().await;
    server.pass(TimeDelta::minutes(59));
    assert_eq!(server.deliver().await, 0);
    server.pass(TimeDelta::minutes(1));
    assert_eq!(server.deliver().await, 1);
    assert_eq!(receiver.got().len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receiver_that_never_answers_fails_and_holds_up_nobody_else() {
    let server = TestServer::at(NOW).await;
    let slow = Receiver::judging(|_| Reply::Late(Duration::from_mins(1)));
    let quick = Receiver::start();
    let slow_one = server.webhook(&slow.url).await.webhook.id;
    server.webhook(&quick.url).await;
    server.tell("cup-7", "one").await;
    server.deliver().await;
    assert_eq!((slow.got().len(), quick.got().len()), (1, 1));
    let told = server
        .owner
        .get_webhook(slow_one)
        .await
        .expect("it is there");
    assert_eq!((told.state.as_str(), told.sending.waiting), ("failing", 1));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receiver_that_is_gone_is_left_alone_and_that_is_told() {
    let server = TestServer::at(NOW).await;
    let receiver = Receiver::judging(|_| Reply::of(410));
    let webhook = server.webhook(&receiver.url).await.webhook.id;
    server.tell("cup-7", "one").await;
    server.tell("cup-7", "two").await;
    server.deliver().await;
    server.tell("cup-7", "three").await;
    server.pass(TimeDelta::days(1));
    server.deliver().await;
    assert_eq!(receiver.got().len(), 1);
    let told = server
        .owner
        .get_webhook(webhook)
        .await
        .expect("it is there");
    assert_eq!((told.state.as_str(), told.sending.waiting), ("disabled", 0));
    let disabled: Vec<Event> = events(&server)
        .await
        .into_iter()
        .filter(|it| it.kind.as_str() == "webhook.disabled")
        .collect();
    assert_eq!(disabled.len(), 1);
    assert!(disabled[0].says.contains("410"), "{}", disabled[0].says);
    server.owner.enable_webhook(webhook).await.expect("enabled");
    server.tell("cup-7", "four").await;
    server.deliver().await;
    assert_eq!(receiver.got().len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn after_five_days_of_failure_a_webhook_is_disabled_and_that_is_told_once() {
    let server = TestServer::at(NOW).await;
    let receiver = Receiver::judging(|_| Reply::of(500));
    let webhook = server.webhook(&receiver.url).await.webhook.id;
    server.tell("cup-7", "one").await;
    let mut days = 0;
    let told = loop {
        server.deliver().await;
        let told = server
            .owner
            .get_webhook(webhook)
            .await
            .expect("it is there");
        if told.state == "disabled" {
            break told;
        }
        server.pass(TimeDelta::hours(1));
        days += 1;
        assert!(days < 24 * 8, "it never ends");
    };
    let disabled_after = TimeDelta::hours(days);
    assert!(disabled_after >= TimeDelta::days(5), "{disabled_after}");
    assert!(
        disabled_after <= TimeDelta::days(6) + TimeDelta::hours(3),
        "{disabled_after}"
    );
    assert!(told.disabled_why.expect("why").contains("500"));
    // At once, nine steps of the schedule, and each day after that.
    let tries = receiver.got().len();
    assert!((10..=13).contains(&tries), "{tries}");
    let told = events(&server).await;
    let disabled = told
        .iter()
        .filter(|it| it.kind.as_str() == "webhook.disabled");
    assert_eq!(disabled.count(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_recorded_before_a_crash_is_sent_after_it() {
    let before = TestServer::at(NOW).await;
    let receiver = Receiver::start();
    before.webhook(&receiver.url).await;
    let id = before.tell("cup-7", "one").await;
    // Nothing is closed in order: the file is taken as it lies.
    before.context.clone().store.close().await.expect("closed");
    let after = TestServer::over(before.database(), before.clock.clone()).await;
    after.deliver().await;
    assert_eq!(receiver.ids(), [id.to_string()]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_sent_but_not_noted_is_sent_again_under_the_same_id() {
    let server = TestServer::at(NOW).await;
    let receiver = Receiver::start();
    server.webhook(&receiver.url).await;
    let first = server.tell("cup-7", "one").await;
    let second = server.tell("cup-7", "two").await;
    // A process takes it into hand, sends it, and dies before it can note that.
    let taken = deliveries::take(&server.context).await.expect("taken");
    assert_eq!(taken.len(), 1);
    assert_eq!(server.deliver().await, 0, "it is in another's hand");
    server.pass(TimeDelta::seconds(61));
    server.deliver().await;
    assert_eq!(receiver.ids(), texts(&[first, second]));
    // The dead process was only slow: what it notes now changes nothing.
    let outcome = deliveries::Outcome::Failed {
        answer: "late".to_owned(),
        retry_after: None,
    };
    let noted = deliveries::note(&server.context, taken[0].id, outcome, 0.0).await;
    noted.expect("noted");
    server.pass(TimeDelta::days(1));
    assert_eq!(server.deliver().await, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn two_processes_on_one_database_lose_nothing_and_double_nothing() {
    let server = TestServer::at(NOW).await;
    let receiver = Receiver::start();
    server.webhook(&receiver.url).await;
    let mut told = Vec::new();
    for number in 0..30 {
        let subject = format!("cup-{}", number % 5);
        told.push(server.tell(&subject, &number.to_string()).await);
    }
    let other = Store::open(server.database()).await.expect("a database");
    let other = Context::start(other, server.clock.clone());
    let (one, two) = tokio::join!(
        deliver_due(&server.context, &server.channels),
        deliver_due(&other, &server.channels)
    );
    one.expect("sent");
    two.expect("sent");
    let ids = receiver.ids();
    assert_eq!(once(&ids).len(), 30, "none is lost");
    assert_eq!(ids.len(), 30, "none came twice, since neither died");
    for lane in 0..5 {
        let should: Vec<String> = texts(&told).into_iter().skip(lane).step_by(5).collect();
        let came: Vec<String> = ids
            .iter()
            .filter(|id| should.contains(id))
            .cloned()
            .collect();
        assert_eq!(came, should, "about cup-{lane} in its order");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_event_that_is_taken_back_with_its_cause_was_never_told() {
    let server = TestServer::at(NOW).await;
    let receiver = Receiver::start();
    server.webhook(&receiver.url).await;
    let now = server.context.clock.now();
    let event = tigstock_tests::told::event(types::EventKind::WarningTold, "cup-7", "one", now);
    let tried = server.context.writer.write::<(), _>(move |tx| {
        Box::pin(async move {
            server::service::events::record(tx, event).await?;
            Err(server::service::Error::WrongState(
                "the cause fails".to_owned(),
            ))
        })
    });
    tried.await.expect_err("the cause fails");
    assert_eq!(server.deliver().await, 0);
    assert!(events(&server).await.is_empty());
}
