//! What torches lend to each other: the lender is incomplete until the part is put back or replaced.

use tigstock_tests::TestServer;
use tigstock_tests::builders::torch;
use tigstock_tests::front_ends::STANDARD;
use types::{Borrowing, FitCheck, FitQuery, GetNeeds, ListBorrowings, NewFit, NewJob, NewTorch};

const RING: &str = "o-ring-large";

/// Two torches, both whole, and spare O-rings in the drawer.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    let stock = STANDARD.map(|part| (part, 2));
    server.shelve(&stock).await;
    server.torch("T1", &STANDARD).await;
    server.torch("T4", &STANDARD).await;
    server
}

fn fit(part: &str, from: Option<&str>) -> NewFit {
    NewFit {
        parts: vec![part.to_owned()],
        from: from.map(str::to_owned),
        ..NewFit::default()
    }
}

async fn done(server: &TestServer, torch: &str, part: &str, from: Option<&str>) -> FitCheck {
    let query = FitQuery::default();
    let told = server
        .owner
        .create_fit(torch, &fit(part, from), &query)
        .await;
    told.expect("it is fitted")
}

async fn borrowings(server: &TestServer, open: Option<bool>) -> Vec<Borrowing> {
    let query = ListBorrowings {
        open,
        ..ListBorrowings::default()
    };
    server
        .owner
        .list_borrowings(&query)
        .await
        .expect("a list")
        .borrowings
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lender_is_incomplete_until_the_part_is_put_back() {
    let server = shop().await;
    let told = done(&server, "T1", RING, Some("T4")).await;
    assert_eq!(
        told.says,
        [
            "Fitted: T1 is complete.",
            "T4 is incomplete until o-ring-large is put back, or another is fitted."
        ]
    );
    let lender = server.owner.get_torch("T4").await.unwrap();
    assert_eq!(
        (lender.lent, lender.fitted.len()),
        (vec![RING.to_owned()], 6)
    );
    let out = borrowings(&server, Some(true)).await;
    assert_eq!(
        (&*out[0].from, &*out[0].to, &*out[0].part),
        ("T4", "T1", RING)
    );
    let only_try = FitQuery { try_only: Some(1) };
    let told = server
        .owner
        .create_fit("T4", &fit("cup-7", None), &only_try)
        .await
        .unwrap();
    assert_eq!(
        (&*told.state, &*told.faults[0].what),
        ("incomplete", "missing")
    );
    assert!(told.says[0].contains("Do not weld without it: air is drawn in at the cap."));
    // Put back, which leaves the borrower without.
    let told = done(&server, "T4", RING, Some("T1")).await;
    assert_eq!(
        told.says,
        [
            "Fitted: T4 is complete.",
            "o-ring-large is put back; T1 has none now."
        ]
    );
    assert_eq!(borrowings(&server, Some(true)).await, []);
    let ended = borrowings(&server, None).await;
    assert_eq!(
        (ended.len(), ended[0].ended_as.as_deref()),
        (1, Some("put back"))
    );
    assert_eq!(server.owner.get_torch("T4").await.unwrap().fitted, STANDARD);
    assert_eq!(server.owner.get_torch("T1").await.unwrap().fitted.len(), 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn one_from_the_drawer_replaces_what_is_out() {
    let server = shop().await;
    done(&server, "T1", RING, Some("T4")).await;
    done(&server, "T4", RING, None).await;
    let ended = borrowings(&server, Some(false)).await;
    assert_eq!(ended[0].ended_as.as_deref(), Some("replaced"));
    assert_eq!(server.owner.get_torch("T4").await.unwrap().lent, [""; 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_on_a_torch_that_lent_a_part_is_told_so_first() {
    let server = shop().await;
    let job = NewJob {
        code: "R-4".to_owned(),
        torch: Some("T4".to_owned()),
        arc_minutes: Some(60),
        start: "2026-06-26".parse().expect("a day"),
        ..NewJob::default()
    };
    server.owner.create_job(&job).await.expect("a job");
    done(&server, "T1", RING, Some("T4")).await;
    let needs = server
        .owner
        .get_job_needs("R-4", &GetNeeds::default())
        .await
        .expect("needs");
    assert_eq!(needs.lent, [RING]);
    assert_eq!(
        needs.says[0],
        "The torch is incomplete: it lent o-ring-large to T1. Next: put it back, or fit another, before \
         the start."
    );
    assert!(
        needs.assumes.contains(
            &"Only what is fitted in T4 is counted, and T4 is not whole: no back-cap O-ring."
                .to_owned()
        ),
        "{:?}",
        needs.assumes
    );
    done(&server, "T4", RING, Some("T1")).await;
    let needs = server
        .owner
        .get_job_needs("R-4", &GetNeeds::default())
        .await
        .expect("needs");
    assert_eq!(needs.lent, [""; 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_finds_no_seat_is_not_lent() {
    let server = shop().await;
    let small = NewTorch {
        family: "small".to_owned(),
        ..torch("T2")
    };
    server.owner.create_torch(&small).await.unwrap();
    let refused = server
        .owner
        .create_fit("T2", &fit(RING, Some("T4")), &FitQuery::default())
        .await;
    let refused = refused.unwrap_err();
    let violation = &refused.problem().expect("a problem").violations[0];
    assert_eq!(violation.pointer, "/parts/0");
    assert!(
        violation.detail.contains("has nothing to sit on"),
        "{violation:?}"
    );
    assert_eq!(server.owner.get_torch("T4").await.unwrap().fitted, STANDARD);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_fitted_there_is_not_lent() {
    let server = shop().await;
    let small = NewTorch {
        family: "small".to_owned(),
        ..torch("T2")
    };
    server.owner.create_torch(&small).await.unwrap();
    done(&server, "T1", RING, Some("T4")).await;
    for (to, from, words) in [
        ("T2", "T4", "not fitted in T4"),
        ("T1", "T1", "cannot lend to itself"),
        ("T1", "T9", "there is no torch T9"),
    ] {
        let refused = server
            .owner
            .create_fit(to, &fit(RING, Some(from)), &FitQuery::default())
            .await;
        let refused = refused.unwrap_err();
        let violation = &refused.problem().expect("a problem").violations[0];
        assert_eq!(violation.pointer, "/from");
        assert!(violation.detail.contains(words), "{violation:?}");
    }
}
