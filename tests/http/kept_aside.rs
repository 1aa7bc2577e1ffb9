//! Entries dated more than ten minutes ahead or ninety days back: kept aside and asked about, never
//! dropped, and not on record until a person has answered.

use client::Error;
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{
    KeptAside, ListQuestions, NewAnswer, NewCount, NewMovement, NewReceipt, NewUsage,
    NewUsageBatch, ProblemKind, Question, Role,
};

const PART: &str = "WLa20-2.4";
const NOW: &str = "2026-06-15T08:00:00-03:00";

async fn shop() -> TestServer {
    let server = TestServer::at(NOW).await;
    server.stocked(electrode(PART, "2.4 mm"), 10).await;
    server.torch("T1", &[PART]).await;
    server
}

fn took(at: &str) -> NewUsage {
    NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("took".to_owned()),
        by: Some("helper".to_owned()),
        at: Some(at.parse().expect("an instant")),
        ..NewUsage::default()
    }
}

async fn aside(server: &TestServer, at: &str, key: &str) -> KeptAside {
    match server.owner.record_usage(&took(at), key).await {
        Err(Error::KeptAside(aside)) => *aside,
        other => panic!("it is kept aside: {other:?}"),
    }
}

async fn answer(server: &TestServer, number: i64, word: &str) -> Result<Question, Error> {
    let answer = NewAnswer {
        answer: word.to_owned(),
        by: Some("owner".to_owned()),
        ..NewAnswer::default()
    };
    server
        .owner
        .answer_question(number, &answer, &format!("answer-{word}"))
        .await
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_dated_out_of_bounds_is_kept_and_changes_nothing() {
    let server = shop().await;
    let ahead = aside(&server, "2026-06-15T08:10:01-03:00", "ahead").await;
    assert_eq!(
        ahead.says,
        "Kept aside, not recorded yet: T1: took 1 WLa20-2.4, dated 15 Jun 2026 08:10, is more \
         than 10 minutes ahead of the clock here. Answer question 1."
    );
    let back = aside(&server, "2026-03-17T07:59:59-03:00", "back").await;
    assert!(
        back.says.contains("more than 90 days back"),
        "{}",
        back.says
    );
    assert_eq!(server.on_hand(PART).await, 10);
    assert_eq!(server.rows().await, 0);
    let open = server
        .owner
        .list_questions(&ListQuestions::default())
        .await
        .expect("questions");
    assert_eq!(open.questions.len(), 2);
    let asked = &open.questions[1];
    assert_eq!(
        (asked.kind.as_str(), asked.number),
        ("late-entry", ahead.question)
    );
    assert_eq!(
        asked.says,
        "T1: took 1 WLa20-2.4 by helper, dated 15 Jun 2026 08:10: more than 10 minutes ahead of \
         the clock here. Is the date right?"
    );
    // What was sent stays readable.
    let sent = asked.sent.as_ref().expect("what was sent");
    assert_eq!(sent["sent"]["at"], "2026-06-15T08:10:01-03:00");
    // A repeat is the same answer and asks nothing again.
    assert_eq!(
        aside(&server, "2026-06-15T08:10:01-03:00", "ahead").await,
        ahead
    );
    let open = server
        .owner
        .list_questions(&ListQuestions::default())
        .await
        .expect("questions");
    assert_eq!(open.questions.len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_three_answers_do_what_they_say() {
    let server = shop().await;
    let at = "2026-01-15T10:00:00-04:00";
    let dated = aside(&server, at, "dated").await.question;
    let received = aside(&server, at, "received").await.question;
    let never = aside(&server, at, "never").await.question;
    server.set_clock("2026-06-16T08:00:00-03:00");
    // Dated before the first count, it explains that count and changes nothing.
    let told = answer(&server, dated, "as-dated")
        .await
        .expect("it is recorded");
    assert_eq!(told.outcome.as_deref(), Some("recorded as dated"));
    assert_eq!(server.on_hand(PART).await, 10);
    // Received after it, it takes one off.
    server.set_clock("2026-06-16T09:00:00-03:00");
    let told = answer(&server, received, "as-received")
        .await
        .expect("it is recorded");
    assert_eq!(
        told.outcome.as_deref(),
        Some("recorded as of when it was received")
    );
    let page = server
        .owner
        .list_usage(&types::ListUsage::default())
        .await
        .expect("usage");
    assert_eq!(
        page.usage[0].at.to_utc().to_rfc3339(),
        "2026-06-15T11:00:00+00:00"
    );
    assert_eq!(page.usage[1].at.to_rfc3339(), at);
    let entry = server
        .owner
        .get_entry(page.usage[0].entry)
        .await
        .expect("the entry");
    let device = entry.device_at.expect("the date that was told");
    assert_eq!(device.to_rfc3339(), "2026-01-15T14:00:00+00:00");
    answer(&server, never, "not-recorded")
        .await
        .expect("it is answered");
    assert_eq!(
        server
            .owner
            .list_usage(&types::ListUsage::default())
            .await
            .expect("usage")
            .usage
            .len(),
        2
    );
    let kept = server
        .owner
        .get_question(never)
        .await
        .expect("the question");
    assert!(kept.sent.is_some(), "what was sent stays readable");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_still_to_come_cannot_be_recorded_as_dated() {
    let server = shop().await;
    let ahead = aside(&server, "2026-06-15T12:00:00-03:00", "ahead")
        .await
        .question;
    let error = answer(&server, ahead, "as-dated")
        .await
        .expect_err("not yet");
    let problem = error.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/answer");
    assert!(
        problem.violations[0].detail.contains("still to come"),
        "{problem:?}"
    );
    // It is still open, and right in the afternoon.
    server.set_clock("2026-06-15T13:00:00-03:00");
    let answer = answer(&server, ahead, "as-received")
        .await
        .expect("it is recorded");
    assert_eq!(answer.state, "answered");
}

#[tokio::test(flavor = "multi_thread")]
async fn every_dated_entry_is_kept_aside_and_a_batch_goes_on() {
    let server = shop().await;
    let at = Some("2025-01-01T00:00:00Z".parse().expect("an instant"));
    let count = NewCount {
        part: PART.to_owned(),
        counted: 3,
        at,
        ..NewCount::default()
    };
    let counted = server.owner.record_count(&count, "count").await;
    assert!(matches!(counted, Err(Error::KeptAside(_))), "{counted:?}");
    let receipt = NewReceipt {
        part: PART.to_owned(),
        quantity: 10,
        at,
        ..NewReceipt::default()
    };
    let received = server.owner.record_receipt(&receipt, "receipt").await;
    assert!(matches!(received, Err(Error::KeptAside(_))), "{received:?}");
    let scrap = NewMovement {
        part: PART.to_owned(),
        kind: "scrap".to_owned(),
        quantity: 1,
        at,
        ..NewMovement::default()
    };
    let scrapped = server.owner.record_movement(&scrap, "scrap").await;
    assert!(matches!(scrapped, Err(Error::KeptAside(_))), "{scrapped:?}");
    let with_id = |id: &str, at: &str| NewUsage {
        id: Some(id.to_owned()),
        ..took(at)
    };
    let batch = NewUsageBatch {
        entries: vec![
            with_id("good", "2026-06-15T07:00:00-03:00"),
            with_id("old", "2020-06-15T07:00:00-03:00"),
        ],
        history: false,
        ..NewUsageBatch::default()
    };
    let told = server
        .owner
        .record_usage_batch(&batch)
        .await
        .expect("it is judged");
    assert_eq!((told.recorded, told.kept_aside, told.refused), (1, 1, 0));
    assert_eq!(told.says, "2 entries: 1 in, 0 already in, 1 need you.");
    assert_eq!(told.entries[1].result, "kept aside");
    assert_eq!(
        told.entries[1]
            .kept_aside
            .as_ref()
            .map(|aside| aside.question),
        Some(4)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_names_nothing_is_refused_at_once_whatever_its_date() {
    let server = shop().await;
    let unknown = NewUsage {
        torch: Some("T9".to_owned()),
        ..took("2020-06-15T07:00:00-03:00")
    };
    let error = server
        .owner
        .record_usage(&unknown, "unknown")
        .await
        .expect_err("no such torch");
    assert!(error.is(ProblemKind::Invalid), "{error}");
}

#[tokio::test(flavor = "multi_thread")]
async fn history_may_be_older_than_90_days_but_not_from_the_future() {
    let server = shop().await;
    let with_id = |id: &str, at: &str| NewUsage {
        id: Some(id.to_owned()),
        ..took(at)
    };
    let batch = NewUsageBatch {
        entries: vec![
            with_id("old", "2003-06-15T08:00:00-03:00"),
            with_id("ahead", "2026-06-15T08:11:00-03:00"),
        ],
        history: true,
        ..NewUsageBatch::default()
    };
    let told = server
        .owner
        .record_usage_batch(&batch)
        .await
        .expect("it is judged");
    assert_eq!((told.recorded, told.kept_aside), (1, 1), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_answer_is_told_by_its_field() {
    let server = shop().await;
    let number = aside(&server, "2020-06-15T07:00:00-03:00", "old")
        .await
        .question;

    for (answer, pointer) in [
        (
            NewAnswer {
                answer: "same".to_owned(),
                ..NewAnswer::default()
            },
            "/answer",
        ),
        (
            NewAnswer {
                answer: "as-dated".to_owned(),
                counted: Some(3),
                ..NewAnswer::default()
            },
            "/counted",
        ),
        (
            NewAnswer {
                answer: "as-dated".to_owned(),
                lot: Some("L-1".to_owned()),
                ..NewAnswer::default()
            },
            "/lot",
        ),
        (
            NewAnswer {
                answer: "as-dated".to_owned(),
                why: Some("x".repeat(401)),
                ..NewAnswer::default()
            },
            "/why",
        ),
    ] {
        let error = server.owner.answer_question(number, &answer, "wrong").await;
        let error = error.expect_err("it is wrong");
        let problem = error.problem().expect("a problem");
        assert_eq!(problem.violations[0].pointer, pointer, "{problem:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn who_may_not_answer_and_what_names_no_question_is_refused() {
    let server = shop().await;
    let number = aside(&server, "2020-06-15T07:00:00-03:00", "old")
        .await
        .question;
    let error = server
        .client(Role::Log)
        .answer_question(
            number,
            &NewAnswer {
                answer: "not-recorded".to_owned(),
                ..NewAnswer::default()
            },
            "log",
        )
        .await;
    assert!(error.expect_err("the role").is(ProblemKind::Forbidden));
    let missing = answer(&server, 999, "same")
        .await
        .expect_err("no such question");
    assert!(missing.is(ProblemKind::NotFound), "{missing}");
    let open = ListQuestions {
        state: Some("new".to_owned()),
        ..ListQuestions::default()
    };
    let error = server
        .owner
        .list_questions(&open)
        .await
        .expect_err("no such state");
    assert_eq!(
        error.problem().expect("a problem").violations[0].pointer,
        "?state"
    );
}
