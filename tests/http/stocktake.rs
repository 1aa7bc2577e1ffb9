//! Scenario S7: a stocktake finds a book below zero. Two variances are one parcel booked to the wrong
//! part; it is asked about, not assumed.

use tigstock_tests::TestServer;
use tigstock_tests::builders::{assuming, collet, electrode};
use types::{
    Counted, GetForecasts, ListMovements, ListQuestions, Movement, NewAnswer, NewCount,
    NewMovement, NewPart, NewReceipt, NewReversal, NewUsage, Question,
};

const COLLET: &str = "collet-2.4";
const BODY: &str = "collet-body-2.4";

fn body(code: &str) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: "collet-body".to_owned(),
        diameter: Some("2.4 mm".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

/// The book before the stocktake: collet -2 after six were used, collet body 13, to which a parcel of
/// ten is booked.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-04-15T08:00:00-03:00").await;
    let assumed = assuming(collet(COLLET), "arc-hour", 0.5, 50.0);
    server.stocked(assumed, 4).await;
    server.stocked(body(BODY), 3).await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    server.torch("T1", &[COLLET, BODY, "WLa20-2.4"]).await;
    server.set_clock("2026-05-04T10:00:00-03:00");
    let receipt = NewReceipt {
        part: BODY.to_owned(),
        quantity: 10,
        by: Some("helper".to_owned()),
        ..NewReceipt::default()
    };
    server
        .owner
        .record_receipt(&receipt, "parcel")
        .await
        .expect("a receipt");
    server.set_clock("2026-06-20T10:00:00-03:00");
    for n in 0..6 {
        server.take(COLLET, &format!("collet-{n}")).await;
    }
    let arc = NewUsage {
        torch: Some("T1".to_owned()),
        arc_minutes: Some(41 * 60),
        ..NewUsage::default()
    };
    server
        .owner
        .record_usage(&arc, "arc")
        .await
        .expect("arc time");
    server.set_clock("2026-07-06T09:00:00-03:00");
    server
}

async fn count(server: &TestServer, part: &str, counted: i64) -> Counted {
    let count = NewCount {
        part: part.to_owned(),
        counted,
        ..NewCount::default()
    };
    let counted = server
        .owner
        .record_count(&count, &format!("count-{part}"))
        .await;
    counted.expect("it is counted")
}

async fn open(server: &TestServer) -> Vec<Question> {
    let query = ListQuestions {
        state: Some("open".to_owned()),
        ..ListQuestions::default()
    };
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
        .answer_question(number, &answer, &format!("answer-{number}"))
        .await;
    answered.expect("it is answered")
}

/// How many collets were used, as the wear rate has it.
async fn used(server: &TestServer) -> i64 {
    let query = GetForecasts {
        part: Some(COLLET.to_owned()),
        arc: Some("34h".to_owned()),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    };
    let told = server
        .owner
        .get_forecasts(&query)
        .await
        .expect("a forecast");
    told.forecasts[0]
        .explain
        .as_ref()
        .expect("an explanation")
        .used
}

async fn rows(server: &TestServer) -> Vec<Movement> {
    let query = ListMovements {
        limit: Some(500),
        ..ListMovements::default()
    };
    server
        .owner
        .list_movements(&query)
        .await
        .expect("the ledger")
        .movements
}

#[tokio::test(flavor = "multi_thread")]
async fn a_book_below_zero_is_impossible_said_and_asked_about_and_issues_go_on() {
    let server = shop().await;
    let stock = server.stock(COLLET).await;
    assert_eq!((stock.on_hand, stock.available), (-2, 0));
    let asked = open(&server).await;
    assert_eq!(asked.len(), 1);
    assert_eq!(asked[0].kind, "negative-book");
    assert_eq!(asked[0].part.as_deref(), Some(COLLET));
    assert_eq!(
        asked[0].says,
        "collet-2.4 is below zero by the book, which is impossible. A receipt or a count is \
         missing. How many are there?"
    );
    let told = server.take(COLLET, "one-more").await;
    assert_eq!(told.stock[0].on_hand, -3);
    assert_eq!(open(&server).await.len(), 1, "it is asked once");
    // A count is the answer, here or in any other way.
    count(&server, COLLET, 7).await;
    let kinds: Vec<String> = open(&server)
        .await
        .into_iter()
        .map(|asked| asked.kind)
        .collect();
    assert!(!kinds.contains(&"negative-book".to_owned()), "{kinds:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn two_variances_are_one_question_and_yes_moves_the_parcel() {
    let server = shop().await;
    let first = count(&server, COLLET, 7).await;
    assert_eq!((first.book, first.variance), (-2, 9));
    let second = count(&server, BODY, 3).await;
    assert_eq!((second.book, second.variance), (13, -10));
    let asked = open(&server).await;
    assert_eq!(
        asked.len(),
        1,
        "not two adjustments, but one question: {asked:?}"
    );
    assert_eq!(
        asked[0].says,
        "Counts differ by +9 on collet-2.4 and -10 on collet-body-2.4. The receipt of 10 on \
         4 May 2026 may belong to collet-2.4. Move it?"
    );
    assert_eq!(second.questions, vec![asked[0].number]);
    assert_eq!(used(&server).await, 6);
    let before = rows(&server).await;

    let answered = answer(&server, asked[0].number, "move").await;
    assert_eq!(answered.state, "answered");
    assert_eq!(
        answered.outcome.as_deref(),
        Some("the receipt of 10 was moved to collet-2.4; collet-2.4: 1 booked as unlogged use")
    );
    // The counts stand: 7 and 3. The books of that instant are 8 less the one unlogged, and 3.
    assert_eq!(server.on_hand(COLLET).await, 7);
    assert_eq!(server.on_hand(BODY).await, 3);
    let after = rows(&server).await;
    // What was written before is still there, as it was; of the receipt it is told now that it was taken back.
    let written = |row: &Movement| Movement {
        reversed: false,
        ..row.clone()
    };
    let still: Vec<Movement> = after.iter().map(written).collect();
    assert!(before.iter().all(|row| still.contains(&written(row))));
    let taken_back = after.iter().filter(|row| row.reversed);
    let taken_back: Vec<(&str, i64)> = taken_back.map(|row| (&*row.kind, row.quantity)).collect();
    assert_eq!(taken_back, [("receipt", 10)]);
    let moved: Vec<_> = after
        .iter()
        .filter(|row| row.kind == "receipt" && row.part == COLLET)
        .collect();
    assert_eq!(moved.len(), 1);
    assert_eq!(
        (moved[0].quantity, moved[0].by.as_deref()),
        (10, Some("helper"))
    );
    assert_eq!(
        moved[0].at.to_rfc3339(),
        "2026-05-04T13:00:00+00:00",
        "the same date"
    );
    // The collet's n goes from 6 to 7; the body's stays.
    assert_eq!(used(&server).await, 7);
    assert!(open(&server).await.is_empty());
    let page = server
        .owner
        .list_counts(&types::ListCounts::default())
        .await
        .expect("counts");
    let newest: Vec<i64> = page
        .counts
        .iter()
        .take(2)
        .map(|count| count.variance)
        .collect();
    assert_eq!(newest, [0, 0], "both are explained now");
}

#[tokio::test(flavor = "multi_thread")]
async fn no_books_two_errors_with_reasons_that_wear_nothing() {
    let server = shop().await;
    // The other way round: the part of which pieces are missing is counted first.
    count(&server, BODY, 3).await;
    count(&server, COLLET, 7).await;
    let asked = open(&server).await;
    assert_eq!((asked.len(), asked[0].kind.as_str()), (1, "mis-booking"));
    let answered = answer(&server, asked[0].number, "keep").await;
    assert_eq!(
        answered.outcome.as_deref(),
        Some(
            "the receipt stays; collet-body-2.4: -10 booked as booking error; collet-2.4: +9 \
             booked as booking error"
        )
    );
    assert_eq!(server.on_hand(COLLET).await, 7);
    assert_eq!(server.on_hand(BODY).await, 3);
    assert_eq!(used(&server).await, 6, "errors of the book wear nothing");
    let adjusted: Vec<(String, i64)> = rows(&server)
        .await
        .into_iter()
        .filter(|row| row.kind == "adjustment")
        .map(|row| (row.why.unwrap_or_default(), row.quantity))
        .collect();
    assert_eq!(adjusted.len(), 2);
    assert!(
        adjusted
            .iter()
            .all(|(why, _)| why.starts_with("booking error")),
        "{adjusted:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_that_is_taken_back_leaves_the_other_to_be_asked_about_alone() {
    let server = shop().await;
    count(&server, COLLET, 7).await;
    let bodies = count(&server, BODY, 3).await;
    let asked = open(&server).await;
    assert_eq!((asked.len(), asked[0].kind.as_str()), (1, "mis-booking"));
    let undo = NewReversal {
        entry: bodies.entry,
        why: None,
    };
    let back = server.owner.record_reversal(&undo, "undo").await;
    back.expect("it is taken back");
    let left = open(&server).await;
    let [question] = &left[..] else {
        panic!("one question: {left:?}")
    };
    let about = (question.kind.as_str(), question.part.as_deref());
    assert_eq!(about, ("variance", Some(COLLET)));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receipt_that_is_taken_back_leaves_what_it_does_not_explain() {
    let server = shop().await;
    count(&server, COLLET, 7).await;
    count(&server, BODY, 3).await;
    let asked = open(&server).await;
    let undo = NewReversal {
        entry: asked[0].entry.expect("the receipt"),
        why: None,
    };
    let back = server.owner.record_reversal(&undo, "undo").await;
    back.expect("it is taken back");
    // Without the ten that were booked to the bodies, their count agrees with the book; the collets
    // are nine more than theirs says.
    let left = open(&server).await;
    let [question] = &left[..] else {
        panic!("one question: {left:?}")
    };
    let about = (question.kind.as_str(), question.part.as_deref());
    assert_eq!(about, ("variance", Some(COLLET)));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_variance_alone_is_use_that_was_not_logged_or_an_error() {
    let server = shop().await;
    // Five of the ten bodies that came are in the drawer: no receipt explains that.
    let told = count(&server, BODY, 8).await;
    assert_eq!(told.variance, -5);
    let asked = open(&server).await;
    let variance = asked
        .iter()
        .find(|asked| asked.kind == "variance")
        .expect("it is asked");
    assert_eq!(
        variance.says,
        "collet-body-2.4: 8 counted on 6 Jul 2026, 5 fewer than the book's 13. Used and not logged, or a booking error?"
    );
    // It comes out that two of them were scrapped, and nobody had said so.
    let scrapped = NewMovement {
        part: BODY.to_owned(),
        kind: "scrap".to_owned(),
        quantity: 2,
        at: Some("2026-07-01T10:00:00-03:00".parse().expect("an instant")),
        ..NewMovement::default()
    };
    server
        .owner
        .record_movement(&scrapped, "scrap")
        .await
        .expect("it is recorded");
    let asked = server
        .owner
        .get_question(variance.number)
        .await
        .expect("the question");
    assert!(
        asked.says.contains("3 fewer than the book's 11"),
        "{}",
        asked.says
    );
    let answered = answer(&server, variance.number, "unlogged-use").await;
    assert_eq!(
        answered.outcome.as_deref(),
        Some("collet-body-2.4: 3 booked as unlogged use")
    );
    assert_eq!(server.on_hand(BODY).await, 8);
    // Answered is answered.
    let again = NewAnswer {
        answer: "booking-error".to_owned(),
        ..NewAnswer::default()
    };
    let error = server
        .owner
        .answer_question(variance.number, &again, "again")
        .await;
    let error = error.expect_err("once");
    assert!(error.is(types::ProblemKind::WrongState), "{error}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_first_count_of_a_part_asks_nothing() {
    let server = TestServer::at("2026-07-06T09:00:00-03:00").await;
    server.stocked(collet(COLLET), 12).await;
    assert!(open(&server).await.is_empty());
}
