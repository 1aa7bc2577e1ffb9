//! Scenario S8, the same usage twice: an answer that was lost, a key used for something else, and
//! retries at the same instant. Over a real socket, down to the bytes.

use std::sync::Barrier;
use std::time::Duration;

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::wire::Bytes;
use types::{ListMovements, NewUsage, NewUsageBatch, Problem, ProblemKind, Recorded, Role};

const PATH: &str = "/v1/usage";
/// How many retries come at once.
const AT_ONCE: usize = 32;

fn took(quantity: i64) -> String {
    format!(
        r#"{{"torch":"T1","part":"WLa20-2.4","what":"took","qty":{quantity},"at":"2026-05-11T14:02:10-03:00","by":"helper"}}"#
    )
}

/// A shop with 14 electrodes, counted that morning.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-05-11T08:00:00-03:00").await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 14).await;
    server.torch("T1", &["WLa20-2.4"]).await;
    server.set_clock("2026-05-11T14:02:12-03:00");
    server
}

fn send(server: &TestServer, key: &str, body: &str) -> Bytes {
    let request = server.post_bytes(PATH, key, body);
    tokio::task::block_in_place(|| server.send_bytes(&request))
}

/// Waits until the stock shows it; what is not shown after a while never will be.
async fn until_on_hand(server: &TestServer, expected: i64) {
    for _ in 0..200 {
        if server.on_hand("WLa20-2.4").await == expected {
            return;
        }
        tokio::time::sleep(Duration::from_millis(25)).await;
    }
    panic!("{} on hand", server.on_hand("WLa20-2.4").await);
}

fn entry(answer: &Bytes) -> uuid::Uuid {
    let recorded: Recorded = serde_json::from_slice(&answer.body).expect("it is recorded");
    recorded.entry
}

#[tokio::test(flavor = "multi_thread")]
async fn a_retry_after_a_lost_answer_gives_the_answer_that_was_lost() {
    let server = shop().await;
    let request = server.post_bytes(PATH, "K1", &took(1));
    tokio::task::block_in_place(|| server.send_and_hang_up(&request));
    until_on_hand(&server, 13).await;
    let first = send(&server, "K1", &took(1));
    let second = send(&server, "K1", &took(1));
    assert_eq!(first.status, 201);
    assert_eq!(first, second);
    assert_eq!(server.on_hand("WLa20-2.4").await, 13);
    let every = ListMovements::default();
    let ledger = server.owner.list_movements(&every).await.unwrap().movements;
    assert_eq!(ledger.len(), 1);
    assert_eq!(ledger[0].entry, entry(&first));
}

#[tokio::test(flavor = "multi_thread")]
async fn three_answers_to_one_key_have_the_same_bytes() {
    let server = shop().await;
    let answers = [
        send(&server, "K1", &took(1)),
        send(&server, "K1", &took(1)),
        send(&server, "K1", &took(1)),
    ];
    assert_eq!(answers[0].status, 201);
    assert!(answers.iter().all(|answer| *answer == answers[0]));
    assert_eq!(server.rows().await, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_answer_stays_the_same_when_the_stock_has_changed_since() {
    let server = shop().await;
    let first = send(&server, "K1", &took(1));
    send(&server, "K2", &took(5));
    server.set_clock("2026-05-12T08:00:00-03:00");
    assert_eq!(send(&server, "K1", &took(1)), first);
    assert_eq!(server.on_hand("WLa20-2.4").await, 8);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_key_with_another_body_is_refused_and_stores_nothing() {
    let server = shop().await;
    send(&server, "K1", &took(1));
    let answer = send(&server, "K1", &took(2));
    assert_eq!(answer.status, 422);
    let problem: Problem = serde_json::from_slice(&answer.body).unwrap();
    assert_eq!(problem.slug(), ProblemKind::KeyReused.slug());
    assert!(problem.detail.contains("\"K1\""), "{problem:?}");
    assert_eq!(server.on_hand("WLa20-2.4").await, 13);
    assert_eq!(server.rows().await, 1);
    // The first request is still answered as it was.
    assert_eq!(send(&server, "K1", &took(1)).status, 201);
}

#[tokio::test(flavor = "multi_thread")]
async fn white_space_and_the_order_of_fields_make_no_other_request() {
    let server = shop().await;
    let first = send(&server, "K1", &took(1));
    let spread = r#"{ "qty": 1, "by": "helper", "what": "took", "part": "WLa20-2.4",
        "at": "2026-05-11T14:02:10-03:00", "torch": "T1" }"#;
    assert_eq!(send(&server, "K1", spread), first);
}

#[tokio::test(flavor = "multi_thread")]
async fn many_retries_at_the_same_instant_store_one_row() {
    let server = shop().await;
    let request = server.post_bytes(PATH, "K1", &took(1));
    let barrier = Barrier::new(AT_ONCE);
    let answers: Vec<Bytes> = tokio::task::block_in_place(|| {
        std::thread::scope(|scope| {
            let one = || {
                barrier.wait();
                server.send_bytes(&request)
            };
            let threads: Vec<_> = (0..AT_ONCE).map(|_| scope.spawn(one)).collect();
            let answers = threads.into_iter().map(|thread| thread.join().unwrap());
            answers.collect()
        })
    });
    let stored: Vec<&Bytes> = answers
        .iter()
        .filter(|answer| answer.status == 201)
        .collect();
    assert!(!stored.is_empty());
    assert!(stored.iter().all(|answer| *answer == stored[0]));
    // Whoever was told to wait gets the stored answer on asking again.
    let others = answers.iter().filter(|answer| answer.status != 201);
    for other in others {
        assert_eq!(other.status, 409, "{other:?}");
    }
    assert_eq!(send(&server, "K1", &took(1)), *stored[0]);
    assert_eq!(server.on_hand("WLa20-2.4").await, 13);
    assert_eq!(server.rows().await, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn two_keys_are_two_entries_even_with_the_same_body() {
    let server = shop().await;
    let first = send(&server, "K1", &took(1));
    let second = send(&server, "K2", &took(1));
    assert_ne!(entry(&first), entry(&second));
    assert_eq!(server.on_hand("WLa20-2.4").await, 12);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_key_of_another_caller_is_another_entry() {
    let server = shop().await;
    send(&server, "K1", &took(1));
    let usage: NewUsage = serde_json::from_str(&took(1)).unwrap();
    let helper = server.client(Role::Log);
    helper.record_usage(&usage, "K1").await.unwrap();
    assert_eq!(server.on_hand("WLa20-2.4").await, 12);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_refused_request_leaves_its_key_free() {
    let server = shop().await;
    let wrong = took(1).replace("\"T1\"", "\"T9\"");
    assert_eq!(send(&server, "K1", &wrong).status, 422);
    assert_eq!(send(&server, "K1", &took(1)).status, 201);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_sent_alone_is_already_in_when_it_comes_again_in_a_batch() {
    let server = shop().await;
    let mut usage: NewUsage = serde_json::from_str(&took(1)).unwrap();
    usage.id = Some("K1".to_owned());
    let alone = server.owner.record_usage(&usage, "K1").await.unwrap();
    let batch = NewUsageBatch {
        entries: vec![usage],
        history: false,
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await.unwrap();
    assert_eq!((told.recorded, told.already_in), (0, 1), "{told:?}");
    let again = told.entries[0].recorded.as_ref().expect("it is in");
    assert_eq!(again.entry, alone.entry);
    assert_eq!(server.on_hand("WLa20-2.4").await, 13);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_id_that_is_not_the_idempotency_key_is_refused() {
    let server = shop().await;
    let mut usage: NewUsage = serde_json::from_str(&took(1)).unwrap();
    usage.id = Some("K2".to_owned());
    let error = server.owner.record_usage(&usage, "K1").await.unwrap_err();
    let problem = error.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/id", "{problem:?}");
    assert_eq!(server.rows().await, 0);
}
