//! Delivery against a service that a test scripts.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::fs;

use types::{Counted, ProblemKind};
use uuid::Uuid;

use super::*;
use crate::entry::Entry;
use crate::queue::Queue;
use crate::queue::tests::{keys, problem, waiting};

const SERVER: &str = "http://bench";

/// Answers in the order it was told to, and then takes everything.
#[derive(Default)]
struct Script {
    errors: RefCell<VecDeque<Option<Error>>>,
    seen: RefCell<Vec<String>>,
}

impl Script {
    fn new(errors: impl IntoIterator<Item = Option<Error>>) -> Self {
        Self {
            errors: RefCell::new(errors.into_iter().collect()),
            ..Self::default()
        }
    }
}

impl Sender for Script {
    async fn send(&self, _: &Entry, key: &str) -> Result<Answer, Error> {
        self.seen.borrow_mut().push(key.to_owned());
        match self.errors.borrow_mut().pop_front().flatten() {
            Some(error) => Err(error),
            None => Ok(Answer::Counted(counted())),
        }
    }
}

fn counted() -> Counted {
    Counted {
        questions: Vec::new(),
        entry: Uuid::nil(),
        part: "part-a".to_owned(),
        site: "shop".to_owned(),
        counted: 3,
        book: 3,
        variance: 0,
        on_hand: 3,
        says: "part-a: 3.".to_owned(),
    }
}

fn refusal(kind: ProblemKind) -> Error {
    Error::Problem(Box::new(problem(kind)))
}

/// A gateway's word that the service is not there.
fn away() -> Error {
    Error::Unexpected {
        status: 502,
        body: String::new(),
    }
}

struct Bench {
    queue: Queue,
    folder: tempfile::TempDir,
}

impl Bench {
    fn with(keys: &[&str]) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let queue = Queue::new(folder.path().to_owned());
        let mut locked = queue.lock().expect("it is free");
        for key in keys {
            locked.push(waiting(key)).expect("it can be kept");
        }
        drop(locked);
        Self { queue, folder }
    }

    async fn deliver(&self, script: &Script, own: Option<&str>) -> Report {
        let mut locked = self.queue.lock().expect("it is free");
        let now = waiting("any").entered_at;
        deliver(&mut locked, SERVER, script, own, now)
            .await
            .expect("the folder can be written")
    }

    fn kept(&self) -> Vec<String> {
        keys(&self.queue.lock().expect("it is free"))
            .into_iter()
            .map(str::to_owned)
            .collect()
    }
}

#[tokio::test]
async fn what_waits_is_sent_once_and_oldest_first() {
    let bench = Bench::with(&["a", "b", "c"]);
    let script = Script::default();
    let report = bench.deliver(&script, None).await;
    assert_eq!(*script.seen.borrow(), ["a", "b", "c"]);
    assert_eq!((report.sent.len(), report.waiting), (3, 0));
    assert!(bench.kept().is_empty());
    bench.deliver(&script, None).await;
    assert_eq!(
        script.seen.borrow().len(),
        3,
        "nothing is sent a second time"
    );
}

#[tokio::test]
async fn an_entry_without_an_answer_stays_and_keeps_its_place() {
    let bench = Bench::with(&["a", "b", "c"]);
    let report = bench
        .deliver(&Script::new([None, Some(away())]), None)
        .await;
    assert_eq!((report.sent.len(), report.waiting), (1, 2));
    assert_eq!(bench.kept(), ["b", "c"]);
    let script = Script::default();
    bench.deliver(&script, None).await;
    assert_eq!(
        *script.seen.borrow(),
        ["b", "c"],
        "the key is the one it had"
    );
}

#[tokio::test]
async fn an_entry_whose_answer_was_lost_is_marked() {
    let bench = Bench::with(&["a", "b"]);
    bench.deliver(&Script::new([Some(away())]), None).await;
    let locked = bench.queue.lock().expect("it is free");
    let marks: Vec<bool> = locked
        .waiting()
        .iter()
        .map(|waiting| waiting.maybe_sent)
        .collect();
    assert_eq!(marks, [true, false]);
}

#[tokio::test]
async fn an_entry_that_is_refused_is_put_beside_with_the_reason() {
    let bench = Bench::with(&["a", "b"]);
    let report = bench
        .deliver(&Script::new([Some(refusal(ProblemKind::NotFound))]), None)
        .await;
    assert_eq!((report.refused.len(), report.sent.len()), (1, 1));
    assert!(bench.kept().is_empty());
    let beside =
        fs::read_to_string(bench.folder.path().join("refused.jsonl")).expect("it is there");
    let line: serde_json::Value = serde_json::from_str(&beside).expect("it is one line of JSON");
    assert_eq!(line["waiting"]["key"], "a");
    assert_eq!(line["problem"]["detail"], "no part of that name");
}

#[tokio::test]
async fn without_a_key_everything_stays() {
    let bench = Bench::with(&["a", "b"]);
    let script = Script::new([Some(refusal(ProblemKind::Unauthenticated))]);
    let report = bench.deliver(&script, None).await;
    assert_eq!(bench.kept(), ["a", "b"]);
    assert_eq!(
        script.seen.borrow().len(),
        1,
        "the others would hear the same"
    );
    assert!(
        report
            .hindrance
            .is_some_and(|error| error.is(ProblemKind::Unauthenticated))
    );
}

#[tokio::test]
async fn an_entry_that_the_key_does_not_cover_stays_and_lets_others_pass() {
    let bench = Bench::with(&["a", "b"]);
    let report = bench
        .deliver(&Script::new([Some(refusal(ProblemKind::Forbidden))]), None)
        .await;
    assert_eq!((bench.kept(), report.sent.len()), (vec!["a".to_owned()], 1));
}

#[tokio::test]
async fn a_fault_of_the_service_loses_nothing() {
    for kind in [ProblemKind::Internal, ProblemKind::Unavailable] {
        let bench = Bench::with(&["a"]);
        bench
            .deliver(&Script::new([Some(refusal(kind))]), None)
            .await;
        assert_eq!(bench.kept(), ["a"]);
    }
}

#[tokio::test]
async fn the_own_entry_is_answered_or_refused_to_the_person() {
    let bench = Bench::with(&["a", "own"]);
    let report = bench.deliver(&Script::default(), Some("own")).await;
    assert!(matches!(report.own, Some(Fate::Sent(_))));
    assert_eq!(report.sent.len(), 1);

    let bench = Bench::with(&["a", "own"]);
    let script = Script::new([None, Some(refusal(ProblemKind::Invalid))]);
    let report = bench.deliver(&script, Some("own")).await;
    assert!(matches!(report.own, Some(Fate::Refused(_))));
    assert!(report.refused.is_empty() && bench.kept().is_empty());
}

#[tokio::test]
async fn the_own_entry_waits_behind_those_that_wait() {
    let bench = Bench::with(&["a", "own"]);
    let script = Script::new([Some(away())]);
    let report = bench.deliver(&script, Some("own")).await;
    assert!(matches!(report.own, Some(Fate::Kept)));
    assert_eq!((report.waiting, script.seen.borrow().len()), (1, 1));
    assert_eq!(bench.kept(), ["a", "own"]);
}

#[tokio::test]
async fn the_own_entry_without_a_key_is_refused_and_the_others_stay() {
    let bench = Bench::with(&["a", "own"]);
    let no_key = || refusal(ProblemKind::Unauthenticated);
    let report = bench
        .deliver(&Script::new([Some(no_key()), Some(no_key())]), Some("own"))
        .await;
    assert!(matches!(report.own, Some(Fate::Refused(_))));
    assert_eq!(bench.kept(), ["a"]);
}

#[tokio::test]
async fn an_entry_for_another_server_is_not_sent_here() {
    let bench = Bench::with(&[]);
    let other = Waiting {
        server: "http://school/".to_owned(),
        ..waiting("other")
    };
    bench
        .queue
        .lock()
        .and_then(|mut queue| queue.push(other))
        .expect("it can be kept");
    let script = Script::default();
    let report = bench.deliver(&script, None).await;
    assert_eq!(
        (script.seen.borrow().len(), report.waiting, report.elsewhere),
        (0, 0, 1)
    );
    assert_eq!(bench.kept(), ["other"]);
}
