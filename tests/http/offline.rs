//! Scenario S9: a phone is offline for a day, its clock is six minutes fast, and the clocks go back.
//! Whatever order the entries come in, the count stands, and they explain it.

use tigstock_tests::TestServer;
use tigstock_tests::builders::{assuming, collet, electrode};
use types::{
    Count, GetForecasts, ListCounts, ListQuestions, NewCount, NewPart, NewUsage, NewUsageBatch,
    SumUsage, UsageBatch,
};

const ELECTRODE: &str = "WLa20-2.4";
const COLLET: &str = "collet-2.4";
const CUP: &str = "cup-7";
const PARTS: [&str; 3] = [ELECTRODE, COLLET, CUP];

fn cup() -> NewPart {
    NewPart {
        code: CUP.to_owned(),
        kind: "cup".to_owned(),
        cup_number: Some(7),
        seat: Some("standard".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

/// Saturday 31 October 2026 in Halifax: 12 electrodes, 5 collets and 8 cups in the book.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-10-30T08:00:00-03:00").await;
    server.zone("America/Halifax").await;
    let assumed = |part| assuming(part, "week", 0.5, 50.0);
    server
        .stocked(assumed(electrode(ELECTRODE, "2.4 mm")), 12)
        .await;
    server.stocked(assumed(collet(COLLET)), 5).await;
    server.stocked(assumed(cup()), 8).await;
    server.torch("T1", &PARTS).await;
    server
}

fn entry(id: &str, phone: &str, what: &str, part: &str, qty: i64) -> NewUsage {
    NewUsage {
        id: Some(id.to_owned()),
        torch: Some("T1".to_owned()),
        what: Some(what.to_owned()),
        part: Some(part.to_owned()),
        qty: Some(qty),
        device_at: Some(phone.parse().expect("an instant")),
        by: Some("owner".to_owned()),
        ..NewUsage::default()
    }
}

/// What the phone kept, by its own clock.
fn entries() -> Vec<NewUsage> {
    vec![
        entry("e1", "2026-10-31T11:51:00-03:00", "took", ELECTRODE, 1),
        entry("e2", "2026-10-31T16:36:00-03:00", "took", COLLET, 1),
        entry("e3", "2026-10-31T18:03:00-03:00", "broke", CUP, 1),
        entry("e4", "2026-10-31T19:21:00-03:00", "took", ELECTRODE, 2),
        entry("e5", "2026-10-31T23:46:00-03:00", "took", ELECTRODE, 1),
        entry("e6", "2026-11-01T01:36:00-04:00", "broke", CUP, 1),
    ]
}

/// The helper's count at 18:00, through the page.
async fn count(server: &TestServer) -> Vec<i64> {
    server.set_clock("2026-10-31T18:00:00-03:00");
    let mut variances = Vec::new();
    for (part, counted) in PARTS.into_iter().zip([11, 3, 7]) {
        let count = NewCount {
            part: part.to_owned(),
            counted,
            by: Some("helper".to_owned()),
            ..NewCount::default()
        };
        let counted = server
            .owner
            .record_count(&count, &format!("count-{part}"))
            .await;
        variances.push(counted.expect("it is counted").variance);
    }
    variances
}

/// The phone comes back on Sunday at 10:10; it says 10:16.
async fn sync(server: &TestServer, entries: Vec<NewUsage>) -> UsageBatch {
    server.set_clock("2026-11-01T10:10:00-04:00");
    let batch = NewUsageBatch {
        entries,
        history: false,
        device_clock: Some("2026-11-01T10:16:00-04:00".parse().expect("an instant")),
        ..NewUsageBatch::default()
    };
    server
        .owner
        .record_usage_batch(&batch)
        .await
        .expect("it is judged")
}

async fn on_hand(server: &TestServer) -> Vec<i64> {
    let mut levels = Vec::new();
    for part in PARTS {
        levels.push(server.on_hand(part).await);
    }
    levels
}

/// The counts of Saturday: electrodes, collets, cups.
async fn counts(server: &TestServer) -> Vec<Count> {
    let mut counts = Vec::new();
    for part in PARTS {
        let query = ListCounts {
            part: Some(part.to_owned()),
            limit: Some(1),
            ..ListCounts::default()
        };
        let page = server.owner.list_counts(&query).await.expect("counts");
        counts.extend(page.counts);
    }
    counts
}

async fn used(server: &TestServer) -> Vec<i64> {
    let query = GetForecasts {
        part: Some(PARTS.join(",")),
        weeks: Some(4.0),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    };
    let told = server.owner.get_forecasts(&query).await.expect("forecasts");
    let used = told.forecasts.iter().map(|forecast| {
        let explained = forecast.explain.as_ref().expect("it is explained");
        explained.used
    });
    used.collect()
}

async fn check_outcome(server: &TestServer) {
    // Not 8/4/6: the count counts. Not 7/2/5: what came in late was in the count already. Not 5 cups:
    // 18:03 by the phone is 17:57, before the count.
    assert_eq!(on_hand(server).await, [8, 3, 6]);
    let variances: Vec<i64> = counts(server)
        .await
        .iter()
        .map(|count| count.variance)
        .collect();
    assert_eq!(variances, [0, -1, 0], "all but one collet is explained");
    let first: Vec<i64> = counts(server)
        .await
        .iter()
        .map(|count| count.counted - count.book)
        .collect();
    assert_eq!(
        first,
        [-1, -2, -1],
        "what the book said when they were counted"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn late_entries_explain_the_count_and_change_it_no_more() {
    let server = shop().await;
    assert_eq!(count(&server).await, [-1, -2, -1]);
    let backwards: Vec<NewUsage> = entries().into_iter().rev().collect();
    let first = sync(&server, backwards.clone()).await;
    assert_eq!(
        (first.recorded, first.already_in, first.refused),
        (6, 0, 0),
        "{first:?}"
    );
    let again = sync(&server, backwards).await;
    assert_eq!((again.recorded, again.already_in, again.refused), (0, 6, 0));
    check_outcome(&server).await;
    let query = ListQuestions {
        state: Some("open".to_owned()),
        ..ListQuestions::default()
    };
    let open = server
        .owner
        .list_questions(&query)
        .await
        .expect("questions")
        .questions;
    let open: Vec<_> = open
        .iter()
        .map(|asked| (asked.kind.as_str(), asked.part.as_deref()))
        .collect();
    assert_eq!(
        open,
        [("variance", Some(COLLET))],
        "one collet is still asked about"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn every_order_of_arrival_gives_the_same() {
    // Each of the six may come in first, one at a time, before or after the others.
    for first in 0..6 {
        let server = shop().await;
        let mut order = entries();
        order.rotate_left(first);
        count(&server).await;
        for entry in order {
            sync(&server, vec![entry]).await;
        }
        check_outcome(&server).await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn wear_counts_all_six_and_the_shops_own_day_has_four_electrodes() {
    let server = shop().await;
    count(&server).await;
    sync(&server, entries()).await;
    // The learned use since Friday: electrodes 4, collet 1, cups 2.
    server.set_clock("2026-11-20T10:00:00-04:00");
    assert_eq!(used(&server).await, [4, 1, 2]);
    let sums = |by: &str, from: &str, to: &str| SumUsage {
        by: Some(by.to_owned()),
        part: Some(ELECTRODE.to_owned()),
        from: from.parse().expect("a day"),
        to: to.parse().expect("a day"),
        ..SumUsage::default()
    };
    let day = server
        .owner
        .sum_usage(&sums("day", "2026-10-31", "2026-10-31"))
        .await;
    let day = day.expect("the day").sums;
    assert_eq!(
        (day.len(), day[0].used),
        (1, 4),
        "3 would be the day of UTC"
    );
    let month = server
        .owner
        .sum_usage(&sums("month", "2026-10-01", "2026-11-30"))
        .await;
    let month = month.expect("the months").sums;
    assert_eq!(
        (month.len(), month[0].used),
        (1, 4),
        "October, and nothing in November"
    );
    assert_eq!(month[0].from.to_string(), "2026-10-01");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_phone_said_stays_on_record_beside_the_true_time() {
    let server = shop().await;
    let recorded = sync(&server, entries()).await;
    let id = |id: &str| {
        let found = recorded.entries.iter().find(|entry| entry.id == id);
        let recorded = found.and_then(|entry| entry.recorded.as_ref());
        recorded.expect("it is recorded").entry
    };
    let broke = server.owner.get_entry(id("e3")).await.expect("the entry");
    assert_eq!(broke.at.to_rfc3339(), "2026-10-31T17:57:00-03:00");
    let device = broke.device_at.expect("what the phone said");
    assert_eq!(device.to_rfc3339(), "2026-10-31T21:03:00+00:00");
    assert_eq!(broke.clock_ahead_seconds, Some(360));
    assert_eq!(broke.received_at.to_rfc3339(), "2026-11-01T14:10:00+00:00");
    // The time that came twice keeps its offset.
    let second = server.owner.get_entry(id("e6")).await.expect("the entry");
    assert_eq!(second.at.to_rfc3339(), "2026-11-01T01:30:00-04:00");
}
