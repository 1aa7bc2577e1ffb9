//! Why a part ran out: histories of which the cause is known, each recovered, and a mixture told as one.

use tigstock_tests::fortnight::ELECTRODE;
use tigstock_tests::run_outs::{forgotten, late, mixed, rush, unlogged, weekly};
use tigstock_tests::{TestServer, instant};
use types::{GetRunOuts, PastRunOut, ProblemKind, RunOuts};

async fn asked(server: &TestServer) -> RunOuts {
    let query = GetRunOuts::default();
    let told = server.owner.list_run_outs(ELECTRODE, &query).await;
    told.expect("the run-outs")
}

/// The one run-out, whose shares add up to 1 and can be redone from its own figures.
async fn only(server: &TestServer) -> PastRunOut {
    let told = asked(server).await;
    let [one] = &told.run_outs[..] else {
        panic!("{told:#?}")
    };
    let sum: f64 = one.causes.iter().map(|it| it.share).sum();
    assert!((sum - 1.0).abs() < 1e-12, "{one:#?}");
    let pieces: f64 = one.causes.iter().map(|it| it.pieces).sum();
    for cause in &one.causes {
        let whole = |number: i64| f64::from(i32::try_from(number).expect("a few"));
        let expected = match &*cause.cause {
            "unlogged-use" => whole(one.unlogged),
            "late-delivery" => whole(one.late.iter().map(|it| it.pieces).sum()),
            "forecast" => whole(one.logged) - one.expected.expect("it is told"),
            "not-ordered" => whole(one.not_ordered),
            _ => whole(one.unexplained),
        };
        assert!((cause.pieces - expected).abs() < 1e-9, "{one:#?}");
        if pieces > 0.0 {
            assert!((cause.share - expected / pieces).abs() < 1e-9, "{one:#?}");
        }
    }
    assert_eq!(told.says, one.says);
    one.clone()
}

fn main_cause(run_out: &PastRunOut) -> (&str, f64) {
    let first = &run_out.causes[0];
    (&first.cause, first.share)
}

#[tokio::test(flavor = "multi_thread")]
async fn use_that_nobody_logged_is_the_cause_once_the_count_is_explained() {
    let server = unlogged().await;
    let before = only(&server).await;
    assert_eq!((&*before.found, before.book), ("count", 6));
    assert_eq!((before.unlogged, before.unexplained), (0, 6));
    assert_eq!(main_cause(&before), ("rest", 1.0));
    assert!(
        before
            .says
            .ends_with("Next: answer what the count asks, see tigstock questions.")
    );
    server.answered(1, "unlogged-use").await;
    let after = only(&server).await;
    assert_eq!((after.unlogged, after.unexplained), (6, 0));
    assert_eq!(main_cause(&after), ("unlogged-use", 1.0));
    assert_eq!(after.from, instant("2026-06-12T10:00:00-03:00"));
    assert_eq!(after.until, None);
    assert_eq!(
        after.says,
        "WLa20-2.4 ran out Fri 12 Jun: a count found none, the book said 6. There is none yet. \
         Why: 6 used without being logged, by the count. \
         Next: log each one as it is taken, or count it every week."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn an_error_of_the_book_is_no_use() {
    let server = unlogged().await;
    server.answered(1, "booking-error").await;
    let told = only(&server).await;
    assert_eq!((told.unlogged, told.unexplained), (0, 6));
    assert_eq!(main_cause(&told), ("rest", 1.0));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_delivery_that_was_due_before_and_came_after_is_the_cause() {
    let server = late().await;
    let told = only(&server).await;
    assert_eq!(told.found, "use");
    assert_eq!(told.from, instant("2026-07-21T10:00:00-03:00"));
    assert_eq!(told.until, Some(instant("2026-07-24T10:00:00-03:00")));
    let [order] = &told.late[..] else {
        panic!("{told:#?}")
    };
    assert_eq!((order.order, order.pieces), (1, 10));
    assert_eq!(order.due.to_string(), "2026-07-01");
    assert_eq!(order.came.expect("it came").to_string(), "2026-07-24");
    let (cause, share) = main_cause(&told);
    assert!(cause == "late-delivery" && share > 0.85, "{told:#?}");
    assert_eq!(told.not_ordered, 0);
    assert!(
        told.says.contains(
            "Why: 10 of order 1 from Quayhead were due Wed 1 Jul and came Fri 24 Jul. \
             Next: order earlier of Quayhead"
        ),
        "{}",
        told.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn more_use_than_was_expected_is_the_cause_where_nothing_else_is() {
    let server = rush().await;
    let told = only(&server).await;
    assert_eq!((told.logged, told.days), (8, 1));
    // Six arc hours on Tuesdays, at one in six.
    let expected = told.expected.expect("there is a record");
    assert!((0.1..2.0).contains(&expected), "{expected}");
    assert_eq!(main_cause(&told), ("forecast", 1.0));
    assert!(
        told.says
            .contains("8 logged from Tue 2 Jun to Tue 2 Jun where ")
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_that_nobody_placed_is_the_cause() {
    let server = forgotten().await;
    let told = only(&server).await;
    assert!(told.late.is_empty());
    assert_eq!(told.not_ordered, 10, "a pack");
    let (cause, share) = main_cause(&told);
    assert!(cause == "not-ordered" && share > 0.85, "{told:#?}");
    assert!(
        told.says
            .contains("Next: order when it reaches its order point.")
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mixture_is_told_as_one() {
    let server = mixed().await;
    let told = only(&server).await;
    let causes: Vec<&str> = told.causes.iter().map(|it| &*it.cause).collect();
    assert_eq!(causes, ["late-delivery", "forecast"]);
    let share = told.causes[1].share;
    assert!((0.05..0.5).contains(&share), "{told:#?}");
    assert_eq!(told.late[0].came, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_did_not_run_out_says_so_and_an_unknown_one_is_named() {
    let server = weekly(2).await;
    let told = asked(&server).await;
    assert!(told.run_outs.is_empty());
    assert_eq!(told.says, "WLa20-2.4 did not run out.");
    let query = GetRunOuts::default();
    let error = server.owner.list_run_outs("nothing", &query).await;
    assert!(error.expect_err("there is none").is(ProblemKind::NotFound));
    let query = GetRunOuts {
        since: Some("next week".to_owned()),
        ..GetRunOuts::default()
    };
    let error = server.owner.list_run_outs(ELECTRODE, &query).await;
    let error = error.expect_err("it is refused");
    let problem = error.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "?since", "{problem:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn only_what_was_out_since_then_is_told() {
    let server = late().await;
    for (since, told) in [("2026-07-23", 1), ("2026-07-25", 0)] {
        server.set_clock("2026-07-26T10:00:00-03:00");
        let query = GetRunOuts {
            since: Some(since.to_owned()),
            ..GetRunOuts::default()
        };
        let found = server.owner.list_run_outs(ELECTRODE, &query).await;
        assert_eq!(found.expect("run-outs").run_outs.len(), told, "{since}");
    }
}
