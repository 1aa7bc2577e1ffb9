//! A pace that is stated rather than read off the log: then nothing but the wear rate is uncertain, and the
//! figures are exact. They are those of an electrode of 1.6 mm with a wear rate of Gamma(26, 220) at 6 arc hours
//! a week, 5 of them there (scenario X1), worked out outside this project.

use tigstock_tests::builders::{assuming, electrode};
use tigstock_tests::{TestServer, instant};
use types::{
    ForecastAhead, ForecastsAhead, GetForecastsAhead, NewOffer, NewSupplier, NewUsage,
    NewUsageBatch, ProblemKind,
};

/// A Monday.
const NOW: &str = "2026-06-15T00:00:00-03:00";
const PART: &str = "WLa20-1.6";

/// Five electrodes of Gamma(2, 20) in T1, and a supplier who takes five open days.
async fn shop() -> TestServer {
    let server = TestServer::at(NOW).await;
    server.zone("America/Halifax").await;
    let part = assuming(electrode(PART, "1.6 mm"), "arc-hour", 2.0, 20.0);
    server.stocked(part, 5).await;
    server.torch("T1", &[PART]).await;
    let supplier = NewSupplier {
        code: "quayhead".to_owned(),
        currency: "CAD".to_owned(),
        lead_time_days: 5,
        ..NewSupplier::default()
    };
    let made = server.owner.create_supplier(&supplier).await;
    made.expect("a supplier");
    let offer = NewOffer {
        supplier: "quayhead".to_owned(),
        part: PART.to_owned(),
        pack_size: 10,
        price_minor: 4_200,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    server
}

/// 24 of them in 200 arc hours, on 20 days that are unlike each other.
async fn worked(server: &TestServer) {
    let entries = (0..20).map(|at| NewUsage {
        id: Some(format!("day-{at}")),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(if at % 2 == 0 { 60 } else { 19 * 60 }),
        what: Some("took".to_owned()),
        part: Some(PART.to_owned()),
        qty: Some(if at < 4 { 2 } else { 1 }),
        at: Some((instant(NOW) - chrono::TimeDelta::days(9 * at + 5)).fixed_offset()),
        ..NewUsage::default()
    });
    let batch = NewUsageBatch {
        entries: entries.collect(),
        history: true,
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await;
    assert_eq!(told.expect("a batch").recorded, 20);
}

fn stated(week: &str) -> GetForecastsAhead {
    GetForecastsAhead {
        part: Some(PART.to_owned()),
        days: Some(14),
        week: Some(week.to_owned()),
        ..GetForecastsAhead::default()
    }
}

async fn ask(server: &TestServer, query: &GetForecastsAhead) -> ForecastsAhead {
    let told = server.owner.get_forecasts_ahead(query).await;
    told.expect("an answer")
}

async fn one(server: &TestServer, week: &str) -> ForecastAhead {
    let mut told = ask(server, &stated(week)).await;
    assert_eq!(told.cannot_tell, []);
    told.forecasts.remove(0)
}

#[tokio::test(flavor = "multi_thread")]
async fn run_out_dates_and_order_point_of_a_stated_week_are_exact() {
    let server = shop().await;
    worked(&server).await;
    let told = one(&server, "6h").await;
    // 12 arc hours to come at 26 / 220; P(use <= 4) = 0.982, P(use <= 3) falls short of 0.95.
    assert!(
        (told.expected - 26.0 / 220.0 * 12.0).abs() < 1e-9,
        "{told:?}"
    );
    assert_eq!(told.need, 4);
    assert_eq!(
        (told.available, told.lead_days, told.order_point),
        (5, Some(7), Some(4))
    );
    let day = |day: &str| Some(day.parse().expect("a day"));
    assert_eq!(told.run_out.early, day("2026-07-03"));
    assert_eq!(told.run_out.median, day("2026-07-31"));
    assert_eq!(told.run_out.late, day("2026-09-22"));
    let assumed = ask(&server, &stated("6h")).await.assumes.join(" ");
    assert!(assumed.contains("6 arc hours, as told"), "{assumed}");
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_record_a_stated_week_stands_on_the_starting_assumption() {
    let server = shop().await;
    let told = one(&server, "7h").await;
    // Gamma(2, 20) over 14 arc hours.
    assert!((told.expected - 1.4).abs() < 1e-9, "{told:?}");
    // P(none) = (20 / 34)^2 = 0.346; P(use <= 4) = 1 - I: six terms by hand give 0.9504.
    let p: f64 = 20.0 / 34.0;
    let terms: f64 = (0..=5)
        .map(|k| f64::from(k + 1) * p * p * (1.0 - p).powi(k))
        .sum();
    assert!(
        (told.chance - terms).abs() < 1e-9,
        "{} {terms}",
        told.chance
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_week_that_cannot_be_is_refused_and_one_that_tells_nothing_is_said() {
    let server = shop().await;
    for week in ["0h", "6", "a lot"] {
        let refused = server.owner.get_forecasts_ahead(&stated(week)).await;
        let told = refused.expect_err("it is refused");
        assert!(told.is(ProblemKind::Invalid), "{week}: {told}");
        assert!(told.to_string().contains("week"), "{told}");
    }
    // Taken over no arc time.
    server.take(PART, "first").await;
    server.set_clock("2026-06-20T08:00:00-03:00");
    let told = ask(&server, &stated("6h")).await;
    assert_eq!(told.forecasts, []);
    assert!(
        told.cannot_tell[0]
            .why
            .contains("no arc time that is on record"),
        "{:?}",
        told.cannot_tell
    );
}
