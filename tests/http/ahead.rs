//! The days to come, of a shop with weeks that are all alike: then nothing but the wear rate is uncertain,
//! and the figures are those of a negative binomial of size 54 and rate 852, worked out outside this project.

use tigstock_tests::builders::electrode;
use tigstock_tests::{TestServer, instant};
use types::{
    ForecastAhead, GetForecastsAhead, NewJob, NewOffer, NewSupplier, NewUsage, NewUsageBatch,
};

/// A Monday.
const NOW: &str = "2026-06-15T08:00:00-03:00";

/// 52 weeks of 8 arc hours on Monday and on Wednesday, and one electrode each Monday; 7 are left.
async fn shop() -> TestServer {
    let server = TestServer::at(NOW).await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 7).await;
    server.torch("T1", &["WLa20-2.4"]).await;
    let mut entries = Vec::new();
    for week in 1..=52 {
        let monday = instant(NOW) - chrono::TimeDelta::weeks(week);
        for (day, took) in [(0, true), (2, false)] {
            entries.push(NewUsage {
                id: Some(format!("{week}-{day}")),
                torch: Some("T1".to_owned()),
                arc_minutes: Some(480),
                what: took.then(|| "took".to_owned()),
                part: took.then(|| "WLa20-2.4".to_owned()),
                at: Some((monday + chrono::TimeDelta::days(day)).fixed_offset()),
                ..NewUsage::default()
            });
        }
    }
    let batch = NewUsageBatch {
        entries,
        history: true,
        ..NewUsageBatch::default()
    };
    let told = server
        .owner
        .record_usage_batch(&batch)
        .await
        .expect("a batch");
    assert_eq!(told.recorded, 104, "{told:?}");
    assert_eq!(server.on_hand("WLa20-2.4").await, 7);
    server
}

async fn ahead(server: &TestServer, days: i64) -> ForecastAhead {
    let query = GetForecastsAhead {
        part: Some("WLa20-2.4".to_owned()),
        days: Some(days),
        ..GetForecastsAhead::default()
    };
    let mut told = server
        .owner
        .get_forecasts_ahead(&query)
        .await
        .expect("a forecast");
    assert_eq!(told.cannot_tell, []);
    told.forecasts.remove(0)
}

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-6, "{found} is not {expected}");
}

#[tokio::test(flavor = "multi_thread")]
async fn four_weeks_like_those_before_take_64_arc_hours() {
    let server = shop().await;
    let told = ahead(&server, 28).await;
    assert_eq!(told.drivers, ["arc-hour"]);
    assert_eq!(told.groups.len(), 1);
    near(told.groups[0].to_come, 64.0);
    near(told.groups[0].logged, 832.0);
    near(told.expected, 54.0 / 852.0 * 64.0);
    assert_eq!((told.low, told.median, told.high), (1, 4, 8));
    assert_eq!((told.need, told.available), (8, 7));
    assert!(
        (told.chance - CHANCE_OF_7_IN_64).abs() < 1e-6,
        "{}",
        told.chance
    );
    assert_eq!(told.order_point, None);
    assert!(told.run_out.median > told.run_out.early && told.run_out.median < told.run_out.late);
}

/// P(use <= 7) over 64 arc hours.
const CHANCE_OF_7_IN_64: f64 = 0.938_772_126_917_184_5;

#[tokio::test(flavor = "multi_thread")]
async fn a_booked_job_comes_on_top_and_a_closed_one_does_not() {
    let server = shop().await;
    let job = NewJob {
        code: "R-140".to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(20 * 60),
        start: "2026-06-22".parse().expect("a day"),
        ..NewJob::default()
    };
    server.owner.create_job(&job).await.expect("a job");
    let told = ahead(&server, 28).await;
    near(told.groups[0].to_come, 84.0);
    near(told.groups[0].booked, 20.0);
    near(told.expected, 54.0 / 852.0 * 84.0);
    assert_eq!(told.booked[0].job, "R-140");
    assert!(
        told.says.contains("Booked work counts: R-140."),
        "{}",
        told.says
    );
    // It begins after the first week.
    assert!(ahead(&server, 7).await.booked.is_empty());
    let closing = types::NewClosing::default();
    server
        .owner
        .close_job("R-140", &closing, "close")
        .await
        .expect("closed");
    near(ahead(&server, 28).await.groups[0].to_come, 64.0);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_order_point_is_over_lead_time_and_review() {
    let server = shop().await;
    let supplier = NewSupplier {
        code: "quayhead".to_owned(),
        currency: "CAD".to_owned(),
        lead_time_days: 5,
        ..NewSupplier::default()
    };
    server
        .owner
        .create_supplier(&supplier)
        .await
        .expect("a supplier");
    let offer = NewOffer {
        supplier: "quayhead".to_owned(),
        part: "WLa20-2.4".to_owned(),
        pack_size: 10,
        price_minor: 4_200,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    let told = ahead(&server, 28).await;
    // Five open days from Monday are the next Monday; with a week of review that is two weeks.
    assert_eq!(told.lead_days, Some(7));
    let point = told.order_point.expect("an order point");
    // 32 arc hours if it is on time, which need 5; some orders are late, which can only add to that.
    assert!((5..=7).contains(&point), "{point}");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_told_is_said() {
    let server = TestServer::at(NOW).await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    let query = GetForecastsAhead {
        part: Some("WLa20-2.4".to_owned()),
        ..GetForecastsAhead::default()
    };
    let told = server
        .owner
        .get_forecasts_ahead(&query)
        .await
        .expect("an answer");
    assert!(
        told.cannot_tell[0]
            .why
            .contains("nothing of it was logged yet")
    );
    for (days, review, target) in [
        (Some(0), None, None),
        (None, Some(91), None),
        (None, None, Some(1.0)),
    ] {
        let query = GetForecastsAhead {
            days,
            review_days: review,
            target,
            ..GetForecastsAhead::default()
        };
        let refused = server.owner.get_forecasts_ahead(&query).await;
        let told = refused.expect_err("out of range").to_string();
        assert!(
            told.contains("0.5 to 0.9999") || told.contains("out of range"),
            "{told}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn booked_work_counts_however_its_size_is_told_or_is_said_not_to() {
    let server = shop().await;
    let start = "2026-06-22".parse().expect("a day");
    let job = |code: &str| NewJob {
        code: code.to_owned(),
        torch: Some("T1".to_owned()),
        start,
        ..NewJob::default()
    };
    // 120 m at 100 mm/min are 20 hours.
    let weld = types::WeldLine {
        joint: "fillet".to_owned(),
        leg_um: Some(3_000),
        length_mm: 120_000,
        speed_mm_per_minute: 100,
        material: "steel".to_owned(),
        ..types::WeldLine::default()
    };
    let welded = NewJob {
        welds: vec![weld],
        ..job("R-141")
    };
    server.owner.create_job(&welded).await.expect("a job");
    near(ahead(&server, 28).await.groups[0].booked, 20.0);
    // A normal week here has 16 hours; two of them are over within the four weeks.
    let weeks = NewJob {
        weeks: Some(2.0),
        ..job("R-142")
    };
    server.owner.create_job(&weeks).await.expect("a job");
    near(ahead(&server, 28).await.groups[0].booked, 20.0 + 32.0);
    let ground = NewJob {
        grinds: Some(40),
        ..job("R-143")
    };
    server.owner.create_job(&ground).await.expect("a job");
    let told = ahead(&server, 28).await;
    near(told.groups[0].booked, 20.0 + 32.0);
    for says in [
        "Booked work counts: R-141, R-142.",
        "Not counted, for want of arc time or normal weeks: R-143;",
    ] {
        assert!(told.says.contains(says), "{}", told.says);
    }
}
