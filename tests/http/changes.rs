//! Coming back after two weeks: what is to be done next, and what changed meanwhile, at one look.

use tigstock_tests::fortnight::{BACK, COLLET, ELECTRODE, LEFT, LENS, fortnight};
use tigstock_tests::shop::taken;
use tigstock_tests::{TestServer, instant};
use types::{
    ChangeGroup, Changes, GetChanges, GetForecastsAhead, NewOffer, NewSupplier, NewUsage, Page,
    ProblemKind,
};

async fn changes(server: &TestServer, since: Option<&str>) -> Changes {
    let query = GetChanges {
        since: since.map(str::to_owned),
        ..GetChanges::default()
    };
    let changes = server.owner.get_changes(&query).await;
    changes.expect("what changed")
}

fn group<'c>(changes: &'c Changes, kind: &str) -> &'c ChangeGroup {
    let found = changes.groups.iter().find(|group| group.kind == kind);
    found.unwrap_or_else(|| panic!("no {kind} in {changes:#?}"))
}

fn says(group: &ChangeGroup) -> Vec<&str> {
    group.lines.iter().map(|line| &*line.says).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_to_be_done_stands_first_and_in_the_order_of_time() {
    let server = fortnight().await;
    let seen = changes(&server, None).await;
    assert_eq!((seen.from, seen.to), (instant(LEFT), instant(BACK)));
    let next: Vec<(&str, &str)> = seen
        .next
        .iter()
        .map(|step| (&*step.kind, &*step.subject))
        .collect();
    assert_eq!(
        next,
        [
            ("late", "1"),
            ("none-left", LENS),
            ("question", "1"),
            // Ten electrodes of Millrace are late, and 34 arc hours use more than are left.
            ("order-by", "R-1"),
            ("blocked", "R-1"),
        ]
    );
    assert!(seen.next.windows(2).all(|two| two[0].at <= two[1].at));
    let said: Vec<&str> = seen.next.iter().map(|step| &*step.says).collect();
    assert_eq!(
        said[0],
        "Order 1 was due Tue 9 Jun: 10 WLa20-2.4. Next: ask Millrace, and receive or cancel it."
    );
    assert_eq!(
        said[1],
        "lens-2.4: none available; nothing is on order. Next: order it, or count it if there is some."
    );
    assert!(said[2].starts_with("1 question waits for an answer, the oldest: "));
    // On the bench on Thursday 25 June, and Quayhead takes one open day: Wednesday.
    assert_eq!(
        said[3],
        "Order by Wed 24 Jun 12:00 for R-1: WLa20-2.4; Quayhead is the last who can deliver in time."
    );
    assert_eq!(seen.next[3].at, instant("2026-06-24T12:00:00-03:00"));
    assert_eq!(
        said[4],
        "R-1 starts Fri 26 Jun 07:00 without enough of lens-2.4, and no order mends that in time. \
         Next: see what R-1 needs."
    );
    assert_eq!(seen.next[4].at, instant("2026-06-26T07:00:00-03:00"));
    assert_eq!(seen.more, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_changed_is_told_sort_by_sort() {
    let server = fortnight().await;
    let seen = changes(&server, Some("2026-06-01")).await;
    // The day begins at midnight of the site.
    assert_eq!(seen.from, instant("2026-06-01T00:00:00-03:00"));
    let arrived = "10 collet-2.4 from Quayhead, order 2, Wed 3 Jun.";
    assert_eq!(says(group(&seen, "arrived")), [arrived]);
    let used = group(&seen, "used");
    assert_eq!(says(used), ["8 WLa20-2.4.", "1 lens-2.4."]);
    assert_eq!(used.lines[0].quantity, Some(8));
    assert_eq!(
        says(group(&seen, "orders")),
        [
            "Order 1 to Millrace was placed Tue 2 Jun, due Tue 9 Jun; it is placed.",
            "Order 2 to Quayhead was placed Tue 2 Jun; it is arrived.",
            "Order 3 to Quayhead was placed Wed 3 Jun; it is cancelled.",
            "Order 3 to Quayhead was cancelled Wed 3 Jun; it is cancelled.",
        ]
    );
    let counted = "13 collet-2.4 counted Fri 5 Jun, the book said 14 (-1).";
    assert_eq!(says(group(&seen, "counts")), [counted]);
    let questions = group(&seen, "questions");
    assert_eq!(questions.lines.len(), 1);
    assert_eq!(questions.lines[0].question, Some(1));
    assert_eq!(questions.lines[0].part.as_deref(), Some(COLLET));
    assert!(!seen.groups.iter().any(|it| it.kind == "told-late"));
    assert!(
        seen.says
            .starts_with("Since Mon 1 Jun: 1 arrived, 2 used, 1 ran low, 4 orders changed, ")
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_fell_to_its_order_point_ran_low_and_no_other() {
    let server = fortnight().await;
    let seen = changes(&server, None).await;
    let low = group(&seen, "ran-low");
    let [line] = &low.lines[..] else {
        panic!("{low:?}")
    };
    // Ten less eight.
    assert_eq!(
        (line.part.as_deref(), line.before, line.after),
        (Some(ELECTRODE), Some(10), Some(2))
    );
    let query = GetForecastsAhead {
        part: Some(ELECTRODE.to_owned()),
        ..GetForecastsAhead::default()
    };
    let ahead = server.owner.get_forecasts_ahead(&query).await;
    let point = ahead.expect("a forecast").forecasts[0].order_point;
    let point = point.expect("somebody offers it");
    assert!((2..10).contains(&point), "{point}");
    let said = format!("2 WLa20-2.4 available, 10 before; order point {point}; 10 on order.");
    assert_eq!(line.says, said);
    // Since the eight were taken it has been low all the time.
    let later = changes(&server, Some("2026-06-03")).await;
    assert!(!later.groups.iter().any(|it| it.kind == "ran-low"));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_told_now_and_happened_before_is_told_apart() {
    let server = fortnight().await;
    let late = NewUsage {
        qty: Some(2),
        at: Some("2026-05-29T10:00:00-03:00".parse().expect("an instant")),
        ..taken(ELECTRODE)
    };
    server.owner.record_usage(&late, "late").await.expect("it");
    server.set_clock("2026-06-15T08:01:00-03:00");
    let seen = changes(&server, Some("2026-06-01")).await;
    let told = group(&seen, "told-late");
    assert_eq!(says(told), ["-2 WLa20-2.4, dated before Mon 1 Jun."]);
    assert_eq!(says(group(&seen, "used"))[0], "8 WLa20-2.4.");
    // Who looked then saw ten, and there are none now.
    let low = group(&seen, "ran-low");
    assert_eq!(
        (low.lines[0].before, low.lines[0].after),
        (Some(10), Some(0))
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn no_more_than_seven_lines_come_first() {
    let server = fortnight().await;
    for (index, day) in (16..22).enumerate() {
        let code = format!("R-2{index}");
        server.job(&code, &format!("2026-06-{day}"), 34).await;
    }
    let seen = changes(&server, None).await;
    assert_eq!(seen.next.len(), 7);
    assert!(seen.more > 0, "{seen:#?}");
    assert_eq!(seen.next[0].kind, "late");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_shop_in_which_nothing_happened_says_so() {
    let server = TestServer::at(BACK).await;
    let seen = changes(&server, Some("10d")).await;
    assert_eq!(seen.from, instant("2026-06-05T08:00:00-03:00"));
    assert!(seen.next.is_empty() && seen.groups.is_empty());
    assert_eq!(
        seen.says,
        "Since Fri 5 Jun: nothing. Nothing is to be done."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_time_that_cannot_be_read_is_named_with_what_would_do() {
    let server = TestServer::at(BACK).await;
    for since in [
        "",
        "w",
        "0w",
        "2x",
        "-3d",
        "2026-02-30",
        "99999w",
        "2026-06-16",
        "morning",
    ] {
        let query = GetChanges {
            since: Some(since.to_owned()),
            ..GetChanges::default()
        };
        let error = server.owner.get_changes(&query).await.expect_err(since);
        let problem = error.problem().expect("a problem");
        assert!(error.is(ProblemKind::Invalid), "{problem:?}");
        let told = &problem.violations[0];
        assert_eq!(told.pointer, "?since", "{problem:?}");
        assert!(told.detail.contains("give "), "{problem:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_that_has_begun_has_no_hour_to_order_by_and_is_still_told_if_it_cannot_run() {
    let server = fortnight().await;
    server.set_clock("2026-06-29T08:00:00-03:00");
    let seen = changes(&server, None).await;
    let of_job: Vec<&str> = seen
        .next
        .iter()
        .filter(|step| step.subject == "R-1")
        .map(|step| &*step.kind)
        .collect();
    assert_eq!(of_job, ["blocked"]);
    let blocked = seen.next.iter().find(|step| step.kind == "blocked");
    let said = &blocked.expect("it cannot run").says;
    assert!(
        said.starts_with("R-1 is under way without enough of "),
        "{said}"
    );
    assert!(said.contains(LENS), "{said}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_price_and_a_lead_time_that_changed_are_told_with_what_they_were() {
    let server = TestServer::watched_shop().await;
    let offers = server.owner.list_offers(&Page::default()).await;
    let offer = offers.expect("offers").offers.remove(0);
    let id = offer.id;
    let prices = async |price_minor: i64| {
        let now = server.owner.get_offer(id).await.expect("an offer");
        let version = now.version;
        let new = NewOffer {
            price_minor,
            ..now.into_new()
        };
        let told = server.owner.replace_offer(id, &new, version).await;
        told.expect("it is replaced");
    };
    server.set_clock("2026-06-16T09:00:00-03:00");
    prices(4_500).await;
    server.set_clock("2026-06-17T09:00:00-03:00");
    prices(4_400).await;
    let quayhead = server.owner.get_supplier("quayhead").await;
    let quayhead = quayhead.expect("a supplier");
    let version = quayhead.version;
    let slower = NewSupplier {
        lead_time_days: 7,
        ..quayhead.into_new()
    };
    let told = server.owner.replace_supplier("quayhead", &slower, version);
    told.await.expect("it is replaced");
    let seen = changes(&server, Some("2026-06-15")).await;
    assert_eq!(
        says(group(&seen, "terms")),
        [
            "Quayhead: WLa20-1.6 in packs of 10 costs 44.00 CAD, 42.00 CAD before.",
            "Quayhead delivers in 7 open days, 5 before.",
        ]
    );
    let at = group(&seen, "terms").lines[0].at;
    assert_eq!(
        at,
        Some(instant("2026-06-17T09:00:00-03:00")),
        "the last of them"
    );
    // Of the price the first change is older than that: it was 45.00 then.
    let seen = changes(&server, Some("2026-06-17")).await;
    let told = says(group(&seen, "terms"))[0];
    assert_eq!(
        told,
        "Quayhead: WLa20-1.6 in packs of 10 costs 44.00 CAD, 45.00 CAD before."
    );
    // What is changed back has not changed.
    prices(4_200).await;
    let seen = changes(&server, Some("2026-06-15")).await;
    assert_eq!(
        says(group(&seen, "terms")),
        ["Quayhead delivers in 7 open days, 5 before."]
    );
}
