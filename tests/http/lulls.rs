//! Lulls over the API: what is refused, what overlaps, whose they are, and the share of each day that
//! follows from them.

use chrono::NaiveDate;
use server::service;
use tigstock_tests::TestServer;
use types::{ListLulls, Lull, NewLull, NewSite, Problem, ProblemKind, Role};
use uuid::Uuid;

const NOW: &str = "2026-06-15T08:00:00-03:00";

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

fn lull(first: &str, last: &str, share: f64) -> NewLull {
    NewLull {
        first: day(first),
        last: day(last),
        share,
        ..NewLull::default()
    }
}

fn at(site: &str, lull: NewLull) -> NewLull {
    NewLull {
        site: Some(site.to_owned()),
        ..lull
    }
}

/// A server with a second site, `tarnbridge`.
async fn two_sites() -> TestServer {
    let server = TestServer::at(NOW).await;
    let school = NewSite {
        code: "tarnbridge".to_owned(),
        zone: "America/Halifax".to_owned(),
        ..NewSite::default()
    };
    server.owner.create_site(&school).await.expect("a site");
    server
}

async fn made(server: &TestServer, new: &NewLull) -> Lull {
    let keep = server.client(Role::Keep);
    keep.create_lull(new).await.expect("a lull")
}

fn refused<T>(result: Result<T, client::Error>, kind: ProblemKind) -> Problem {
    let error = result.err().expect("it is refused");
    let problem = error.problem().expect("a problem").clone();
    assert_eq!(problem.kind, kind.uri(), "{problem:?}");
    problem
}

async fn shares(server: &TestServer, site: &str, from: &str, days: u32) -> Vec<f64> {
    let db = server.context.store.read();
    let site = service::codes::site(db, site).await.expect("a site");
    let shares = service::lulls::shares(db, site.id, day(from), days).await;
    shares.expect("shares")
}

async fn listed(server: &TestServer, site: Option<&str>) -> Vec<Uuid> {
    let query = ListLulls {
        site: site.map(str::to_owned),
        ..ListLulls::default()
    };
    let page = server.client(Role::Read).list_lulls(&query).await;
    let page = page.expect("a page");
    assert!(page.next.is_none());
    page.lulls.iter().map(|lull| lull.id).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_day_has_the_share_of_its_lull_and_any_other_day_is_as_usual() {
    let server = two_sites().await;
    made(&server, &lull("2026-12-24", "2027-01-03", 0.0)).await;
    made(&server, &lull("2027-01-04", "2027-01-05", 0.5)).await;
    made(&server, &lull("2027-01-07", "2027-01-07", 2.0)).await;
    let rush = lull("2027-01-01", "2027-01-31", 3.0);
    made(&server, &at("tarnbridge", rush)).await;
    // Saturday 2 January to Friday 8 January, read off the calendar.
    let expected = [0.0, 0.0, 0.5, 0.5, 1.0, 2.0, 1.0];
    assert_eq!(shares(&server, "shop", "2027-01-02", 7).await, expected);
    assert_eq!(
        shares(&server, "shop", "2026-12-22", 3).await,
        [1.0, 1.0, 0.0]
    );
    assert_eq!(
        shares(&server, "tarnbridge", "2027-01-31", 2).await,
        [3.0, 1.0]
    );
    assert!(shares(&server, "shop", "2027-01-01", 0).await.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn shares_are_told_up_to_the_end_of_the_calendar() {
    let server = two_sites().await;
    made(&server, &lull("9999-12-30", "9999-12-31", 0.5)).await;
    let expected = [1.0, 0.5, 0.5, 1.0];
    assert_eq!(shares(&server, "shop", "9999-12-29", 4).await, expected);
    assert_eq!(shares(&server, "shop", "+10000-01-01", 2).await, [1.0, 1.0]);
    assert_eq!(shares(&server, "shop", "+262142-12-31", 3).await, [1.0; 3]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lull_that_is_edited_or_removed_leaves_nothing_of_what_it_was() {
    let server = two_sites().await;
    let keep = server.client(Role::Keep);
    let old = made(&server, &lull("2026-07-01", "2026-07-03", 0.0)).await;
    // It may overlap what it was itself.
    let later = lull("2026-07-03", "2026-07-04", 0.25);
    let edited = keep.replace_lull(old.id, &later, old.version).await;
    let edited = edited.expect("a lull");
    assert_eq!((edited.id, edited.version), (old.id, 2));
    assert_eq!(
        shares(&server, "shop", "2026-07-01", 5).await,
        [1.0, 1.0, 0.25, 0.25, 1.0]
    );
    let gone = keep.delete_lull(old.id, 2).await;
    gone.expect("it is removed");
    assert_eq!(shares(&server, "shop", "2026-07-03", 2).await, [1.0, 1.0]);
    refused(keep.get_lull(old.id).await, ProblemKind::NotFound);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lull_that_overlaps_another_of_the_site_is_refused_and_the_other_is_named() {
    let server = two_sites().await;
    let keep = server.client(Role::Keep);
    let other = made(&server, &lull("2026-07-10", "2026-07-20", 0.0)).await;
    for (first, last) in [
        ("2026-07-01", "2026-07-10"),
        ("2026-07-12", "2026-07-13"),
        ("2026-07-10", "2026-07-20"),
        ("2026-07-01", "2026-07-31"),
        ("2026-07-20", "2026-07-31"),
    ] {
        let new = keep.create_lull(&lull(first, last, 0.5)).await;
        let problem = refused(new, ProblemKind::AlreadyExists);
        for word in [
            &*other.id.to_string(),
            "shop",
            "2026-07-10 to 2026-07-20",
            "share 0,",
            "give days outside it",
        ] {
            assert!(problem.detail.contains(word), "{word}: {problem:?}");
        }
    }
    // What touches it, and the same days of another site, are free.
    let before = made(&server, &lull("2026-07-01", "2026-07-09", 0.5)).await;
    made(&server, &lull("2026-07-21", "2026-07-31", 0.5)).await;
    let elsewhere = at("tarnbridge", lull("2026-07-10", "2026-07-20", 0.5));
    let elsewhere = made(&server, &elsewhere).await;
    let wider = lull("2026-07-01", "2026-07-11", 0.5);
    let wider = keep.replace_lull(before.id, &wider, 1).await;
    let problem = refused(wider, ProblemKind::AlreadyExists);
    assert!(
        problem.detail.contains(&other.id.to_string()),
        "{problem:?}"
    );
    let moved = lull("2026-07-10", "2026-07-20", 0.5);
    let moved = keep.replace_lull(elsewhere.id, &moved, 1).await;
    refused(moved, ProblemKind::AlreadyExists);
    let kept = keep.get_lull(elsewhere.id).await.expect("a lull");
    assert_eq!(
        (kept.site.as_deref(), kept.version),
        (Some("tarnbridge"), 1)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_is_of_one_site_by_the_first_day() {
    let server = two_sites().await;
    let late = made(&server, &lull("2026-12-24", "2027-01-03", 0.0)).await;
    let early = made(&server, &lull("2026-07-01", "2026-07-03", 0.5)).await;
    let school = at("Tarnbridge", lull("2026-07-01", "2026-08-31", 0.0));
    let school = made(&server, &school).await;
    assert_eq!(school.site.as_deref(), Some("tarnbridge"));
    assert_eq!(late.site.as_deref(), Some("shop"));
    assert_eq!(listed(&server, None).await, [early.id, late.id]);
    assert_eq!(listed(&server, Some("shop")).await, [early.id, late.id]);
    assert_eq!(listed(&server, Some("tarnbridge")).await, [school.id]);
    for (query, pointer) in [("site=attic", "?site"), ("after=soon", "?after")] {
        let asked = server.ask("GET", &format!("/v1/lulls?{query}"));
        let problem = asked.send().await.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, pointer);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn everything_wrong_with_a_lull_is_told_at_once() {
    let server = two_sites().await;
    let wrong = NewLull {
        note: Some("x".repeat(201)),
        ..lull("2026-07-03", "2026-07-01", 5.5)
    };
    let told = server.client(Role::Keep).create_lull(&wrong).await;
    let problem = refused(told, ProblemKind::Invalid);
    let pointers: Vec<&str> = problem
        .violations
        .iter()
        .map(|told| &*told.pointer)
        .collect();
    assert_eq!(pointers, ["/share", "/last", "/note"]);
    assert!(listed(&server, None).await.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn reading_takes_the_role_read_and_writing_the_role_keep() {
    let server = two_sites().await;
    let new = lull("2026-07-01", "2026-07-03", 0.5);
    let there = made(&server, &new).await;
    let read = server.client(Role::Read);
    assert_eq!(read.get_lull(there.id).await.expect("a lull"), there);
    let log = server.client(Role::Log);
    refused(log.create_lull(&new).await, ProblemKind::Forbidden);
    let replaced = log.replace_lull(there.id, &new, 1).await;
    refused(replaced, ProblemKind::Forbidden);
    refused(log.delete_lull(there.id, 1).await, ProblemKind::Forbidden);
    assert_eq!(listed(&server, None).await, [there.id]);
}
