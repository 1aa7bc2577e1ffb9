//! Scenario S8 d: two people log the same tip change on two phones. Both are recorded, and a person is
//! asked; reversal, not deletion.

use client::Client;
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{ListQuestions, NewAnswer, NewReversal, NewUsage, Question, Recorded, Role};

const PART: &str = "WLa20-2.4";

pub(crate) async fn shop() -> TestServer {
    let server = TestServer::at("2026-05-11T08:00:00-03:00").await;
    server.stocked(electrode(PART, "2.4 mm"), 14).await;
    server.torch("T1", &[PART]).await;
    server.torch("T3", &[PART]).await;
    server.set_clock("2026-05-11T15:00:00-03:00");
    server
}

async fn took(phone: &Client, torch: &str, by: &str, time: &str) -> Recorded {
    let usage = NewUsage {
        torch: Some(torch.to_owned()),
        part: Some(PART.to_owned()),
        what: Some("took".to_owned()),
        at: Some(
            format!("2026-05-11T{time}-03:00")
                .parse()
                .expect("an instant"),
        ),
        by: Some(by.to_owned()),
        ..NewUsage::default()
    };
    let key = format!("{by}-{torch}-{time}");
    phone
        .record_usage(&usage, &key)
        .await
        .expect("it is recorded")
}

async fn questions(server: &TestServer) -> Vec<Question> {
    let query = ListQuestions::default();
    server
        .owner
        .list_questions(&query)
        .await
        .expect("questions")
        .questions
}

async fn answer(server: &TestServer, number: i64, word: &str) -> Question {
    let answer = NewAnswer {
        answer: word.to_owned(),
        by: Some("owner".to_owned()),
        ..NewAnswer::default()
    };
    let answered = server
        .owner
        .answer_question(number, &answer, "the-answer")
        .await;
    answered.expect("it is answered")
}

/// Both phones: the helper at 14:02, the owner at 14:06.
pub(crate) async fn both(server: &TestServer) -> (Recorded, Recorded) {
    let helper = took(&server.client(Role::Log), "T1", "helper", "14:02:10").await;
    let owner = took(&server.owner, "T1", "owner", "14:06:00").await;
    (helper, owner)
}

#[tokio::test(flavor = "multi_thread")]
async fn both_are_recorded_and_one_question_is_asked() {
    let server = shop().await;
    let (helper, owner) = both(&server).await;
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.if_double), (12, Some(13)));
    assert_eq!(stock.available, 12, "orders count with 12");
    let asked = questions(&server).await;
    assert_eq!(asked.len(), 1);
    assert_eq!(
        asked[0].says,
        "Possible double entry on T1: helper 14:02, owner 14:06. Same tip change?"
    );
    assert_eq!(
        (asked[0].entry, asked[0].other_entry),
        (Some(owner.entry), Some(helper.entry))
    );
    assert!(helper.questions.is_empty());
    assert_eq!(owner.questions, vec![asked[0].number]);
    assert!(owner.says.contains("Same tip change?"), "{}", owner.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn yes_takes_one_back_and_deletes_nothing() {
    let server = shop().await;
    let (helper, owner) = both(&server).await;
    let number = questions(&server).await[0].number;
    let answered = answer(&server, number, "same").await;
    assert_eq!(
        (answered.state.as_str(), answered.answer.as_deref()),
        ("answered", Some("same"))
    );
    assert!(answered.answers.is_empty());
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.if_double), (13, None));
    let page = server
        .owner
        .list_usage(&types::ListUsage::default())
        .await
        .expect("usage");
    assert_eq!(page.usage.len(), 3, "two entries and the reversal of one");
    assert_eq!(page.usage[0].reverses, Some(owner.entry));
    assert!(page.usage.iter().any(|row| row.entry == helper.entry));
    // The same answer again is the same answer.
    let again = answer(&server, number, "same").await;
    assert_eq!(again, answered);
    assert_eq!(server.on_hand(PART).await, 13);
}

#[tokio::test(flavor = "multi_thread")]
async fn no_leaves_both() {
    let server = shop().await;
    both(&server).await;
    let number = questions(&server).await[0].number;
    answer(&server, number, "different").await;
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.if_double), (12, None));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_order_in_which_they_come_in_does_not_matter() {
    let server = shop().await;
    let owner = took(&server.owner, "T1", "owner", "14:06:00").await;
    let helper = took(&server.client(Role::Log), "T1", "helper", "14:02:10").await;
    let asked = questions(&server).await;
    assert_eq!(
        asked[0].says,
        "Possible double entry on T1: helper 14:02, owner 14:06. Same tip change?"
    );
    assert_eq!(
        (asked[0].entry, asked[0].other_entry),
        (Some(owner.entry), Some(helper.entry))
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_double_is_not_asked_about() {
    let server = shop().await;
    let helper = server.client(Role::Log);
    took(&helper, "T1", "helper", "14:02:00").await;
    // The same person changed the tip twice; another torch; more than ten minutes apart.
    took(&helper, "T1", "helper", "14:05:00").await;
    took(&server.owner, "T3", "owner", "14:05:00").await;
    took(&server.owner, "T1", "owner", "14:15:01").await;
    assert!(questions(&server).await.is_empty());
    assert_eq!(server.stock(PART).await.if_double, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_undo_answers_the_question() {
    let server = shop().await;
    let (_, owner) = both(&server).await;
    let undo = NewReversal {
        entry: owner.entry,
        why: None,
    };
    server
        .owner
        .record_reversal(&undo, "undo")
        .await
        .expect("it is taken back");
    let asked = questions(&server).await;
    assert_eq!(asked[0].state, "closed");
    assert_eq!(server.stock(PART).await.if_double, None);
    assert_eq!(server.on_hand(PART).await, 13);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_stands_for_both() {
    let server = shop().await;
    both(&server).await;
    let count = types::NewCount {
        part: PART.to_owned(),
        counted: 13,
        ..types::NewCount::default()
    };
    server
        .owner
        .record_count(&count, "count")
        .await
        .expect("a count");
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.if_double), (13, None));
}
