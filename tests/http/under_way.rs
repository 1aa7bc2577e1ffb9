//! A job that has begun: what is logged on it is taken off, the rest is planned from now, and nothing
//! that is ordered now counts as here. Chances are negative binomials summed term by term outside this
//! project.

use tigstock_tests::TestServer;
use types::{GetNeeds, Needs, NewJob, NewReceipt, NewUsage, ProblemKind, SetUpJob};

use crate::order_over_suppliers::{MONDAY, day, job, of_job, offer, sells, shop, supplier};

/// Monday after the Friday on which the job began.
const UNDER_WAY: &str = "2026-06-29T08:00:00-03:00";

async fn received(server: &TestServer, part: &str, quantity: i64) {
    let receipt = NewReceipt {
        part: part.to_owned(),
        quantity,
        ..NewReceipt::default()
    };
    let came = server.owner.record_receipt(&receipt, part).await;
    came.expect("it came");
}

async fn logged(server: &TestServer, usage: NewUsage, key: &str) {
    let usage = NewUsage {
        job: Some("R-1".to_owned()),
        at: Some("2026-06-26T15:00:00-03:00".parse().expect("an instant")),
        ..usage
    };
    let done = server.owner.record_usage(&usage, key).await;
    done.expect("it is logged");
}

/// Four of the ten hours are logged, and four rods; eight rods and a collet are left.
async fn under_way() -> TestServer {
    let server = shop().await;
    let offers = [
        offer("millrace", "rod", 1, 100),
        offer("millrace", "collet", 1, 100),
    ];
    sells(&server, supplier("millrace", 0), &offers).await;
    server.set_clock("2026-06-15T09:00:00-03:00");
    received(&server, "rod", 12).await;
    received(&server, "collet", 1).await;
    server.set_clock(UNDER_WAY);
    let hours = NewUsage {
        torch: Some("T1".to_owned()),
        arc_minutes: Some(240),
        ..NewUsage::default()
    };
    logged(&server, hours, "hours").await;
    let rods = NewUsage {
        part: Some("rod".to_owned()),
        what: Some("took".to_owned()),
        qty: Some(4),
        ..NewUsage::default()
    };
    logged(&server, rods, "rods").await;
    server
}

fn near(told: f64, figure: f64) {
    assert!((told - figure).abs() < 5e-5, "{told}, not {figure}");
}

fn said(needs: &Needs, words: &str) {
    let found = needs.says.iter().any(|line| line.contains(words));
    assert!(found, "{words}: {:?}", needs.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_hours_that_are_logged_are_taken_off() {
    let server = under_way().await;
    let needs = of_job(&server).await;
    let done = needs.under_way.as_ref().expect("it has begun");
    assert_eq!(
        (
            done.planned.arc_minutes,
            done.logged.arc_minutes,
            done.to_come.arc_minutes
        ),
        (Some(600), Some(240), Some(360))
    );
    assert_eq!(
        done.says,
        "R-1 is under way: 4 of 10 arc hours logged, 6 to come."
    );
    said(&needs, &done.says);
    assert_eq!(needs.start, day("2026-06-26"));
    // Rods: Gamma(1004, 1004) over 6 hours; collets: Gamma(1000, 10004).
    assert_eq!((needs.lines[0].need, needs.lines[1].need), (10, 2));
    assert_eq!((needs.lines[0].available, needs.lines[1].available), (8, 1));
    near(needs.chance_now, 0.743_45);
    assert!(
        needs.says[0].starts_with("Chance the rest of this job runs without a stop: 74 %"),
        "{:?}",
        needs.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_ordered_now_is_not_here_yet() {
    let server = under_way().await;
    let needs = of_job(&server).await;
    // Two open days from Monday: Wednesday. Nothing of it counts for today.
    near(needs.chance_after, 0.743_45);
    let order = &needs.orders[0];
    assert!(
        !order.in_time && order.arrives == day("2026-07-01"),
        "{order:?}"
    );
    let lines: Vec<(&str, i64)> = order
        .lines
        .iter()
        .map(|line| (&*line.part, line.pieces))
        .collect();
    assert_eq!(lines, [("rod", 2), ("collet", 1)]);
    said(&needs, "Earliest if it is ordered now: millrace Wed 1 Jul.");
    // With ten rods and two collets.
    let once_here = needs.under_way.as_ref().and_then(|it| it.chance_once_here);
    near(once_here.expect("something is ordered"), 0.934_75);
    said(
        &needs,
        "If what is there lasts until the order comes, the chance for all that is to come is 93 %.",
    );
    assert!(
        !needs
            .says
            .iter()
            .any(|line| line.contains("move the start"))
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn before_its_start_all_of_a_job_is_to_come_whatever_is_logged() {
    let server = under_way().await;
    let query = GetNeeds {
        now: Some("2026-06-26T06:59:00-03:00".to_owned()),
        ..GetNeeds::default()
    };
    let needs = server.owner.get_job_needs("R-1", &query).await;
    let needs = needs.expect("needs");
    assert!(needs.under_way.is_none());
    assert_eq!(needs.lines[0].need, 15);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_of_which_nothing_is_logged_is_all_to_come_and_says_so() {
    let server = shop().await;
    server.set_clock("2026-06-26T07:00:00-03:00");
    let needs = of_job(&server).await;
    said(
        &needs,
        "R-1 is under way: 0 of 10 arc hours logged, 10 to come.",
    );
    assert_eq!(needs.lines[0].need, 15);
}

#[tokio::test(flavor = "multi_thread")]
async fn hours_are_taken_off_as_they_were_known_at_an_instant() {
    let server = under_way().await;
    let query = GetNeeds {
        as_of: Some("2026-06-26T14:00:00-03:00".to_owned()),
        ..GetNeeds::default()
    };
    let needs = server.owner.get_job_needs("R-1", &query).await;
    let done = needs.expect("needs").under_way.expect("it has begun");
    assert_eq!(done.logged.arc_minutes, Some(0));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_whose_hours_are_used_up_asks_for_its_size_or_its_end() {
    let server = under_way().await;
    let more = NewUsage {
        torch: Some("T1".to_owned()),
        arc_minutes: Some(420),
        ..NewUsage::default()
    };
    logged(&server, more, "more").await;
    let refused = server
        .owner
        .get_job_needs("R-1", &GetNeeds::default())
        .await;
    let refused = refused.expect_err("nothing is to come");
    assert!(refused.is(ProblemKind::WrongState), "{refused:?}");
    let detail = refused.problem().expect("a problem").detail.clone();
    for words in [
        "11 of 10 arc hours logged",
        "the size it will have in all",
        "close it",
    ] {
        assert!(detail.contains(words), "{detail}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_start_that_is_past_is_refused_unless_the_job_has_begun() {
    let server = TestServer::at(MONDAY).await;
    server.zone("America/Halifax").await;
    server.torch("T1", &[]).await;
    let past = NewJob {
        start: day("2026-06-15"),
        start_time: Some("07:30".to_owned()),
        ..job()
    };
    let refused = server.owner.create_job(&past).await;
    let refused = refused.expect_err("it is past");
    let told = refused.to_string();
    for words in ["Mon 15 Jun 2026 07:30 is past", "08:00 now", "begun=true"] {
        assert!(told.contains(words), "{told}");
    }
    let how = SetUpJob { begun: true };
    let made = server.owner.create_job_as(&past, &how).await;
    let made = made.expect("it has begun");
    // What has begun may be changed, but not moved to another day that is past.
    let larger = NewJob {
        arc_minutes: Some(900),
        ..past.clone()
    };
    let changed = server.owner.replace_job("R-1", &larger, made.version).await;
    let version = changed.expect("it is changed").version;
    let moved = NewJob {
        start: day("2026-06-14"),
        ..larger
    };
    let refused = server.owner.replace_job("R-1", &moved, version).await;
    assert!(refused.expect_err("it is past").is(ProblemKind::Invalid));
}
