//! Scenario X2: a lot is traced both ways, what is left goes on hold, and the lines add up to what was
//! received, or show the gap.

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{
    GetTrace, ListQuestions, LotHold, NewAnswer, NewCount, NewDrawer, NewJob, NewLotHold,
    NewMovement, NewReceipt, NewReversal, NewUsage, ProblemKind, Trace,
};

const PART: &str = "WLa20-2.4";
const LOT: &str = "L-2231";

fn job(code: &str, procedure: Option<&str>) -> NewJob {
    NewJob {
        code: code.to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(600),
        start: "2026-07-01".parse().expect("a day"),
        procedure: procedure.map(str::to_owned),
        locked: procedure.is_some(),
        ..NewJob::default()
    }
}

/// Ten of the lot came in; three jobs, two of them by a locked procedure.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-01T08:00:00-03:00").await;
    server.part(electrode(PART, "2.4 mm")).await;
    server.torch("T1", &[PART]).await;
    for job in [
        job("R-118", Some("PROC-07 rev 2")),
        job("R-121", Some("PROC-07 rev 2")),
        job("course-0606", None),
    ] {
        server.owner.create_job(&job).await.expect("a job");
    }
    let drawer = NewDrawer {
        code: "3".to_owned(),
        name: None,
        site: None,
        parts: vec![PART.to_owned()],
    };
    server.owner.create_drawer(&drawer).await.expect("a drawer");
    let receipt = NewReceipt {
        part: PART.to_owned(),
        quantity: 10,
        lot: Some(LOT.to_owned()),
        ..NewReceipt::default()
    };
    server
        .owner
        .record_receipt(&receipt, "lot")
        .await
        .expect("a receipt");
    server
}

fn took(job: &str, qty: i64, lot: Option<&str>) -> NewUsage {
    NewUsage {
        torch: Some("T1".to_owned()),
        part: Some(PART.to_owned()),
        what: Some("took".to_owned()),
        qty: Some(qty),
        job: Some(job.to_owned()),
        lot: lot.map(str::to_owned),
        ..NewUsage::default()
    }
}

/// Four to R-118, one to R-121, one to the course, on three days.
async fn used(server: &TestServer) {
    for (day, usage) in [
        ("2026-06-02", took("R-118", 4, Some(LOT))),
        ("2026-06-03", took("R-121", 1, Some("l-2231"))),
        (
            "2026-06-06",
            NewUsage {
                group: Some("beginner".to_owned()),
                by: Some("instructor".to_owned()),
                ..took("course-0606", 1, Some(LOT))
            },
        ),
    ] {
        server.set_clock(&format!("{day}T10:00:00-03:00"));
        server
            .owner
            .record_usage(&usage, day)
            .await
            .expect("it is recorded");
    }
}

async fn trace(server: &TestServer) -> Trace {
    server
        .owner
        .trace_lot(LOT, &GetTrace::default())
        .await
        .expect("a trace")
}

async fn hold(server: &TestServer, key: &str) -> LotHold {
    let hold = NewLotHold {
        why: Some("notice of the supplier".to_owned()),
        ..NewLotHold::default()
    };
    server
        .owner
        .hold_lot(LOT, &hold, key)
        .await
        .expect("it is held")
}

fn lines(trace: &Trace) -> Vec<(&str, &str, i64)> {
    let lines = trace.lines.iter();
    lines
        .map(|line| (line.what.as_str(), line.place.as_str(), line.quantity))
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_trace_has_exactly_these_four_lines_and_they_add_up() {
    let server = shop().await;
    used(&server).await;
    let trace = trace(&server).await;
    assert_eq!(
        lines(&trace),
        [
            ("used", "R-118", 4),
            ("used", "R-121", 1),
            ("used", "course-0606", 1),
            ("left", "drawer 3", 4)
        ]
    );
    assert_eq!(
        (trace.received, trace.used, trace.left, trace.gap),
        (10, 6, 4, 0)
    );
    let sum: i64 = trace.lines.iter().map(|line| line.quantity).sum();
    assert_eq!(sum, 10);
    // Dates, and roles of people.
    assert_eq!(
        trace.lines[0]
            .first_at
            .expect("a date")
            .to_utc()
            .to_rfc3339(),
        "2026-06-02T13:00:00+00:00"
    );
    assert_eq!(trace.lines[0].groups, ["own"]);
    assert_eq!(
        (
            trace.lines[2].groups.as_slice(),
            trace.lines[2].by.as_slice()
        ),
        (&["beginner".to_owned()][..], &["instructor".to_owned()][..])
    );
    assert_eq!(trace.locked_jobs, ["R-118", "R-121"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_left_goes_on_hold_and_people_are_told_whom_to_tell() {
    let server = shop().await;
    used(&server).await;
    let held = hold(&server, "hold").await;
    assert_eq!((held.pieces, held.entries.len()), (4, 1));
    assert_eq!(
        held.trace.says,
        "L-2231: 10 received. 4 to R-118, 1 to R-121, 1 to course-0606, 4 in drawer 3. 4 on hold. \
         6 used or handed out; R-118 and R-121 are locked-procedure jobs: tell the person \
         responsible."
    );
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.on_hold, stock.available), (4, 4, 0));
    // Again, whether as a repeat or anew, holds nothing twice.
    assert_eq!(hold(&server, "hold").await, held);
    assert_eq!(hold(&server, "anew").await.pieces, 0);
    assert_eq!(server.stock(PART).await.on_hold, 4);
    let freed = server
        .owner
        .release_lot(LOT, &NewLotHold::default(), "release")
        .await
        .expect("it is freed");
    assert_eq!((freed.pieces, freed.trace.on_hold), (4, 0));
    assert_eq!(server.stock(PART).await.available, 4);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_on_hold_is_not_handed_out_but_a_use_is_a_fact() {
    let server = shop().await;
    used(&server).await;
    hold(&server, "hold").await;
    let issue = NewMovement {
        part: PART.to_owned(),
        kind: "issue".to_owned(),
        quantity: 1,
        job: Some("R-118".to_owned()),
        lot: Some(LOT.to_owned()),
        ..NewMovement::default()
    };
    let error = server
        .owner
        .record_movement(&issue, "issue")
        .await
        .expect_err("it is held");
    let problem = error.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/lot");
    assert!(
        problem.violations[0]
            .detail
            .contains("L-2231 is on hold: 4 of 4 left"),
        "{problem:?}"
    );
    // Somebody took one all the same, and is told. It is gone, so it is not on hold any more.
    let taken = server
        .owner
        .record_usage(&took("R-118", 1, Some(LOT)), "fact")
        .await
        .expect("it is recorded");
    assert!(
        taken
            .says
            .ends_with(" Lot L-2231 of WLa20-2.4 is on hold: tell the person responsible."),
        "{}",
        taken.says
    );
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.on_hold, stock.available), (3, 3, 0));
    let back = server
        .owner
        .list_usage(&types::ListUsage::default())
        .await
        .expect("usage")
        .usage[0]
        .entry;
    let undo = NewReversal {
        entry: back,
        why: None,
    };
    server
        .owner
        .record_reversal(&undo, "undo")
        .await
        .expect("it is taken back");
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.on_hold, stock.available), (4, 4, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_count_does_not_find_is_a_gap() {
    let server = shop().await;
    used(&server).await;
    let count = NewCount {
        part: PART.to_owned(),
        counted: 3,
        ..NewCount::default()
    };
    server
        .owner
        .record_count(&count, "count")
        .await
        .expect("a count");
    let trace = trace(&server).await;
    assert_eq!(
        (trace.received, trace.used, trace.left, trace.gap),
        (10, 6, 3, 1)
    );
    assert!(
        trace.says.contains("1 not accounted for."),
        "{}",
        trace.says
    );
    let sum: i64 = trace.lines.iter().map(|line| line.quantity).sum();
    assert_eq!(sum + trace.gap, trace.received);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lot_that_was_never_received_is_refused() {
    let server = shop().await;
    let error = server
        .owner
        .trace_lot("L-9", &GetTrace::default())
        .await
        .expect_err("no such lot");
    assert!(error.is(ProblemKind::NotFound), "{error}");
    let unknown = server
        .owner
        .record_usage(&took("R-118", 1, Some("L-9")), "took")
        .await;
    let unknown = unknown.expect_err("no such lot");
    let problem = unknown.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/lot");
    assert!(
        problem.violations[0]
            .detail
            .contains("lot L-9 of WLa20-2.4 was never received"),
        "{problem:?}"
    );
    assert_eq!(server.on_hand(PART).await, 10);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_locked_procedure_wants_the_lot() {
    let server = shop().await;
    let issue = NewMovement {
        part: PART.to_owned(),
        kind: "issue".to_owned(),
        quantity: 1,
        job: Some("R-118".to_owned()),
        ..NewMovement::default()
    };
    let error = server
        .owner
        .record_movement(&issue, "issue")
        .await
        .expect_err("no lot");
    let problem = error.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/lot");
    assert!(
        problem.violations[0].detail.contains("PROC-07 rev 2"),
        "{problem:?}"
    );
    // At the bench it is a fact; it is recorded and asked about.
    let told = server
        .owner
        .record_usage(&took("R-118", 1, None), "took")
        .await
        .expect("recorded");
    assert_eq!(told.questions.len(), 1);
    let asked = server
        .owner
        .get_question(told.questions[0])
        .await
        .expect("the question");
    assert_eq!(
        (asked.kind.as_str(), asked.says.as_str()),
        (
            "missing-lot",
            "WLa20-2.4 was used for R-118, which is done by PROC-07 rev 2. Which lot was it?"
        )
    );
    assert_eq!(trace(&server).await.used, 0);
    let answer = NewAnswer {
        answer: "lot".to_owned(),
        lot: Some(LOT.to_owned()),
        ..NewAnswer::default()
    };
    server
        .owner
        .answer_question(asked.number, &answer, "answer")
        .await
        .expect("it is answered");
    let trace = trace(&server).await;
    assert_eq!(
        lines(&trace),
        [("used", "R-118", 1), ("left", "drawer 3", 9)]
    );
    assert_eq!(server.on_hand(PART).await, 9);
}

#[tokio::test(flavor = "multi_thread")]
async fn jobs_without_a_locked_procedure_are_not_asked_for_lots() {
    let server = shop().await;
    // Jobs without such a procedure are not asked.
    let told = server
        .owner
        .record_usage(&took("course-0606", 1, None), "course")
        .await
        .expect("recorded");
    assert!(told.questions.is_empty());
    let open = ListQuestions {
        state: Some("open".to_owned()),
        ..ListQuestions::default()
    };
    assert!(
        server
            .owner
            .list_questions(&open)
            .await
            .expect("questions")
            .questions
            .is_empty()
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn nobody_is_asked_for_the_lot_of_a_use_that_was_taken_back() {
    let server = shop().await;
    let told = server
        .owner
        .record_usage(&took("R-118", 1, None), "took")
        .await
        .expect("recorded");
    let undo = NewReversal {
        entry: told.entry,
        why: None,
    };
    let back = server.owner.record_reversal(&undo, "undo").await;
    back.expect("it is taken back");
    let question = server.owner.get_question(told.questions[0]).await;
    assert_eq!(question.expect("the question").state, "closed");
}
