//! Allocations: what is promised to one job is available to no other, and the last piece is promised
//! once.

use client::Error;
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{
    Allocated, GetNeeds, ListAllocations, NewAllocation, NewJob, NewReversal, NewUsage, ProblemKind,
};

const PART: &str = "WLa20-2.4";

/// Nine electrodes, and two jobs with the torch T1.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(electrode(PART, "2.4 mm"), 9).await;
    server.torch("T1", &[PART]).await;
    for code in ["R-118", "R-120"] {
        let job = NewJob {
            code: code.to_owned(),
            torch: Some("T1".to_owned()),
            arc_minutes: Some(600),
            start: "2026-07-01".parse().expect("a day"),
            ..NewJob::default()
        };
        server.owner.create_job(&job).await.expect("a job");
    }
    server.set_clock("2026-06-15T12:00:00-03:00");
    server
}

fn allocation(job: &str, quantity: i64) -> NewAllocation {
    NewAllocation {
        job: job.to_owned(),
        part: PART.to_owned(),
        quantity,
        ..NewAllocation::default()
    }
}

async fn allocate(server: &TestServer, job: &str, quantity: i64) -> Result<Allocated, Error> {
    let key = format!("{job}-{quantity}");
    server
        .owner
        .record_allocation(&allocation(job, quantity), &key)
        .await
}

async fn promised(server: &TestServer) -> Vec<(String, i64)> {
    let page = server
        .owner
        .list_allocations(&ListAllocations::default())
        .await
        .expect("a page");
    page.allocations
        .into_iter()
        .map(|row| (row.job, row.quantity))
        .collect()
}

async fn available_to(server: &TestServer, job: &str) -> i64 {
    let needs = server
        .owner
        .get_job_needs(job, &GetNeeds::default())
        .await
        .expect("needs");
    needs.lines[0].available
}

async fn take(server: &TestServer, job: &str, qty: i64, key: &str) -> types::Recorded {
    let usage = NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("took".to_owned()),
        qty: Some(qty),
        job: Some(job.to_owned()),
        ..NewUsage::default()
    };
    server
        .owner
        .record_usage(&usage, key)
        .await
        .expect("it is recorded")
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_promised_to_one_job_is_not_available_to_another() {
    let server = shop().await;
    let told = allocate(&server, "R-120", 2).await.expect("it is promised");
    assert_eq!((told.before, told.quantity), (0, 2));
    assert_eq!(
        told.says,
        "2 WLa20-2.4 promised to R-120. WLa20-2.4: 7 available."
    );
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.allocated, stock.available), (9, 2, 7));
    assert_eq!(available_to(&server, "R-118").await, 7);
    assert_eq!(available_to(&server, "R-120").await, 9);
    assert_eq!(promised(&server).await, [("R-120".to_owned(), 2)]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_used_for_the_job_comes_off_the_promise_and_comes_back_with_an_undo() {
    let server = shop().await;
    allocate(&server, "R-120", 2).await.expect("it is promised");
    take(&server, "R-118", 1, "other").await;
    assert_eq!(promised(&server).await, [("R-120".to_owned(), 2)]);
    let taken = take(&server, "R-120", 3, "own").await;
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.allocated, stock.available), (5, 0, 5));
    assert!(promised(&server).await.is_empty());
    let undo = NewReversal {
        entry: taken.entry,
        why: None,
    };
    server
        .owner
        .record_reversal(&undo, "undo")
        .await
        .expect("it is taken back");
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.allocated, stock.available), (8, 2, 6));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_promise_is_set_anew_and_freed_and_never_exceeds_what_is_available() {
    let server = shop().await;
    allocate(&server, "R-120", 2).await.expect("it is promised");
    let told = allocate(&server, "R-120", 5).await.expect("it is promised");
    assert_eq!((told.before, told.quantity), (2, 5));
    let error = allocate(&server, "R-118", 5).await.expect_err("4 are left");
    let problem = error.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/quantity");
    assert!(
        problem.violations[0].detail.contains("4 available at shop"),
        "{problem:?}"
    );
    allocate(&server, "R-120", 0).await.expect("it is freed");
    assert_eq!(server.stock(PART).await.available, 9);
    assert!(promised(&server).await.is_empty());
    allocate(&server, "R-118", 9).await.expect("all of them");
    assert_eq!(server.stock(PART).await.available, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_promise_is_not_taken_back_but_set_anew() {
    let server = shop().await;
    let told = allocate(&server, "R-120", 2).await.expect("it is promised");
    let undo = NewReversal {
        entry: told.entry,
        why: None,
    };
    let error = server
        .owner
        .record_reversal(&undo, "undo")
        .await
        .expect_err("set it anew");
    assert_eq!(
        error.problem().expect("a problem").violations[0].pointer,
        "/entry"
    );
    assert_eq!(server.stock(PART).await.allocated, 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_promise_is_told_by_its_field() {
    let server = shop().await;
    for (wrong, pointer) in [
        (allocation("R-999", 1), "/job"),
        (
            NewAllocation {
                part: "none".to_owned(),
                ..allocation("R-120", 1)
            },
            "/part",
        ),
        (
            NewAllocation {
                site: Some("attic".to_owned()),
                ..allocation("R-120", 1)
            },
            "/site",
        ),
        (allocation("R-120", -1), "/quantity"),
        (allocation("R-120", 1_000_000_001), "/quantity"),
    ] {
        let error = server
            .owner
            .record_allocation(&wrong, "wrong")
            .await
            .expect_err("it is wrong");
        let problem = error.problem().expect("a problem");
        assert!(error.is(ProblemKind::Invalid), "{problem:?}");
        assert_eq!(problem.violations[0].pointer, pointer, "{problem:?}");
    }
    assert_eq!(server.stock(PART).await.allocated, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn sixty_four_ask_for_the_last_piece_and_one_gets_it() {
    let server = shop().await;
    allocate(&server, "R-118", 8).await.expect("eight of nine");
    for n in 0..64 {
        let job = NewJob {
            code: format!("J-{n}"),
            torch: Some("T1".to_owned()),
            arc_minutes: Some(60),
            start: "2026-07-01".parse().expect("a day"),
            ..NewJob::default()
        };
        server.owner.create_job(&job).await.expect("a job");
    }
    let askers = (0..64).map(|n| {
        let client = server.owner.clone();
        tokio::spawn(async move {
            let new = allocation(&format!("J-{n}"), 1);
            client.record_allocation(&new, &format!("last-{n}")).await
        })
    });
    let askers: Vec<_> = askers.collect();
    let mut got = 0;
    for asker in askers {
        match asker.await.expect("it ends") {
            Ok(_) => got += 1,
            Err(error) => assert!(error.is(ProblemKind::Invalid), "{error}"),
        }
    }
    assert_eq!(got, 1);
    let stock = server.stock(PART).await;
    assert_eq!((stock.on_hand, stock.allocated, stock.available), (9, 9, 0));
}
