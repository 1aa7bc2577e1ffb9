//! The ladder of evidence through the API: what a forecast stands on when no arc time was logged.
//! The figures of rungs 4 and 5 are worked out outside this project.

use tigstock_tests::builders::{assuming, electrode};
use tigstock_tests::{TestServer, instant};
use types::{
    GetForecasts, GetNeeds, NewJob, NewUsage, NewUsageBatch, StartingAssumption, UsageBatch,
};

const NOW: &str = "2026-06-15T08:00:00-03:00";
const WEEKS: i64 = 156;
const ELECTRODES: i64 = 58;
const GRINDS: i64 = 1_180;

/// An instant so many of 58 steps into the 156 weeks before now.
fn at(step: i64) -> chrono::DateTime<chrono::FixedOffset> {
    let weeks = chrono::TimeDelta::weeks(WEEKS);
    let passed = chrono::TimeDelta::seconds(weeks.num_seconds() * step / ELECTRODES);
    (instant(NOW) - weeks + passed).fixed_offset()
}

async fn history(server: &TestServer, entries: Vec<NewUsage>) -> UsageBatch {
    let batch = NewUsageBatch {
        entries,
        history: true,
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await;
    let told = told.expect("a batch");
    assert_eq!(told.refused, 0, "{told:?}");
    told
}

/// A shop that logged 58 electrodes in 156 weeks, and grinds too if so told, but never arc time; nor for which
/// torch an electrode was taken, or their lives would be known, and these are all alike.
async fn shop(grinds: i64) -> TestServer {
    let server = TestServer::at(NOW).await;
    let mut part = assuming(electrode("WLa20-2.4", "2.4 mm"), "grind", 2.0, 40.0);
    part.starting_assumptions.push(StartingAssumption {
        per: "week".to_owned(),
        shape: 1.0,
        rate: 4.0,
    });
    server.part(part).await;
    server.torch("T1", &["WLa20-2.4"]).await;
    let mut entries = Vec::new();
    for step in 0..ELECTRODES {
        entries.push(NewUsage {
            id: Some(format!("took-{step}")),
            what: Some("took".to_owned()),
            part: Some("WLa20-2.4".to_owned()),
            at: Some(at(step)),
            ..NewUsage::default()
        });
        let share = grinds * (step + 1) / ELECTRODES - grinds * step / ELECTRODES;
        if share > 0 {
            entries.push(NewUsage {
                id: Some(format!("ground-{step}")),
                torch: Some("T1".to_owned()),
                grinds: Some(share),
                at: Some(at(step)),
                ..NewUsage::default()
            });
        }
    }
    history(&server, entries).await;
    server
}

fn of_electrodes() -> GetForecasts {
    GetForecasts {
        part: Some("WLa20-2.4".to_owned()),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    }
}

fn job(grinds: Option<i64>, weeks: Option<f64>) -> NewJob {
    NewJob {
        code: "R-200".to_owned(),
        torch: Some("T1".to_owned()),
        grinds,
        weeks,
        start: "2026-07-01".parse().expect("a day"),
        ..NewJob::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_hundred_grinds_take_4_9_electrodes_and_need_9() {
    let server = shop(GRINDS).await;
    let query = GetForecasts {
        grinds: Some(100),
        ..of_electrodes()
    };
    let told = server.owner.get_forecasts(&query).await.unwrap();
    let told = &told.forecasts[0];
    assert_eq!((told.rung.number, &*told.rung.name), (4, "grinds only"));
    assert!((told.expected - 4.9).abs() < 0.05, "{}", told.expected);
    assert_eq!(told.need, 9);
    assert!(
        told.says.contains("No arc hours; forecast is per grind."),
        "{}",
        told.says
    );
    let explain = told.explain.as_ref().expect("it was asked for");
    assert!((explain.shape - 60.0).abs() < 1e-9, "{explain:?}");
    assert!((explain.rate - 1_220.0).abs() < 1e-9, "{explain:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_of_a_hundred_grinds_needs_the_same() {
    let server = shop(GRINDS).await;
    let job = job(Some(100), None);
    server.owner.create_job(&job).await.unwrap();
    let needs = server
        .owner
        .get_job_needs("R-200", &GetNeeds::default())
        .await
        .unwrap();
    let line = &needs.lines[0];
    assert!((line.expected - 4.9).abs() < 0.05, "{}", line.expected);
    assert_eq!((line.need, line.rung.number), (9, 4));
}

#[tokio::test(flavor = "multi_thread")]
async fn eight_normal_weeks_take_2_95_electrodes_and_need_6() {
    let server = shop(0).await;
    let query = GetForecasts {
        weeks: Some(8.0),
        ..of_electrodes()
    };
    let told = server.owner.get_forecasts(&query).await.unwrap();
    let told = &told.forecasts[0];
    assert_eq!(
        (told.rung.number, &*told.rung.name),
        (5, "withdrawals only")
    );
    assert!((told.expected - 2.95).abs() < 0.005, "{}", told.expected);
    assert_eq!(told.need, 6);
    assert!(told.says.contains("per week"), "{}", told.says);
    let explain = told.explain.as_ref().expect("it was asked for");
    assert_eq!(explain.used, 58);
    assert!((explain.shape - 59.0).abs() < 1e-9, "{explain:?}");
    assert!((explain.rate - 160.0).abs() < 1e-9, "{}", explain.rate);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_of_eight_normal_weeks_needs_the_same() {
    let server = shop(0).await;
    let job = job(None, Some(8.0));
    server.owner.create_job(&job).await.unwrap();
    let needs = server
        .owner
        .get_job_needs("R-200", &GetNeeds::default())
        .await
        .unwrap();
    let line = &needs.lines[0];
    assert!((line.expected - 2.95).abs() < 0.005, "{}", line.expected);
    assert_eq!((line.need, line.rung.number), (6, 5));
}

#[tokio::test(flavor = "multi_thread")]
async fn arc_time_beats_grinds_and_grinds_beat_weeks() {
    let server = shop(GRINDS).await;
    let every_size = GetForecasts {
        arc: Some("34h".to_owned()),
        grinds: Some(100),
        weeks: Some(8.0),
        ..of_electrodes()
    };
    let told = server.owner.get_forecasts(&every_size).await.unwrap();
    assert_eq!(told.forecasts[0].rung.number, 4);
    let logged = NewUsage {
        torch: Some("T1".to_owned()),
        arc_minutes: Some(600),
        ..NewUsage::default()
    };
    server.owner.record_usage(&logged, "arc").await.unwrap();
    let told = server.owner.get_forecasts(&every_size).await.unwrap();
    assert_eq!(told.forecasts[0].rung.number, 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_history_is_harmless_when_it_is_sent_twice() {
    let server = shop(0).await;
    let entry = NewUsage {
        id: Some("took-0".to_owned()),
        what: Some("took".to_owned()),
        part: Some("WLa20-2.4".to_owned()),
        at: Some(at(0)),
        ..NewUsage::default()
    };
    let told = history(&server, vec![entry]).await;
    assert_eq!((told.recorded, told.already_in), (0, 1));
    assert_eq!(server.on_hand("WLa20-2.4").await, -58);
}

/// 410 arc hours in a year, told by those sources, and 58 electrodes.
async fn hours_from(sources: &[(Option<&str>, i64)]) -> types::Forecast {
    let server = TestServer::at(NOW).await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    server.torch("T1", &["WLa20-2.4"]).await;
    let mut entries = Vec::new();
    for (index, (source, hours)) in sources.iter().enumerate() {
        entries.push(NewUsage {
            id: Some(format!("arc-{index}")),
            torch: Some("T1".to_owned()),
            arc_minutes: Some(hours * 60),
            arc_from: source.map(str::to_owned),
            at: Some(at(i64::try_from(index).expect("a step"))),
            ..NewUsage::default()
        });
    }
    history(&server, entries).await;
    let query = GetForecasts {
        arc: Some("34h".to_owned()),
        ..of_electrodes()
    };
    let mut told = server
        .owner
        .get_forecasts(&query)
        .await
        .expect("a forecast");
    told.forecasts.remove(0)
}

#[tokio::test(flavor = "multi_thread")]
async fn the_rung_is_that_of_the_source_of_most_arc_hours() {
    let typed = (None, 150);
    for (sources, rung) in [
        ([(Some("counter"), 200), typed], (1, "arc timer")),
        ([(Some("counter"), 100), typed], (2, "typed estimate")),
        ([(Some("cylinder"), 100), typed], (2, "typed estimate")),
        ([(Some("cylinder"), 200), typed], (3, "cylinder swap")),
        (
            [(Some("counter"), 200), (Some("cylinder"), 300)],
            (3, "cylinder swap"),
        ),
    ] {
        let told = hours_from(&sources).await;
        assert_eq!((told.rung.number, &*told.rung.name), rung, "{sources:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn student_days_wear_the_part_they_name_and_no_torch() {
    let server = TestServer::at(NOW).await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    let taught = NewUsage {
        part: Some("WLa20-2.4".to_owned()),
        student_days: Some(36),
        ..NewUsage::default()
    };
    server.owner.record_usage(&taught, "K1").await.unwrap();
    let with_torch = NewUsage {
        torch: Some("T1".to_owned()),
        ..taught.clone()
    };
    let refused = server.owner.record_usage(&with_torch, "K2").await;
    let told = refused.expect_err("a course has no torch").to_string();
    assert!(told.contains("leave torch out"), "{told}");
    let of_nothing = NewUsage {
        part: None,
        ..taught
    };
    let refused = server.owner.record_usage(&of_nothing, "K3").await;
    let told = refused.expect_err("of which part?").to_string();
    assert!(told.contains("code of the part"), "{told}");
}

#[tokio::test(flavor = "multi_thread")]
async fn two_counts_and_the_receipts_between_them_give_a_rate_by_the_week() {
    let server = TestServer::at("2026-03-02T08:00:00-04:00").await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 10).await;
    server.set_clock("2026-04-06T08:00:00-03:00");
    let receipt = types::NewReceipt {
        part: "WLa20-2.4".to_owned(),
        quantity: 5,
        ..types::NewReceipt::default()
    };
    server.owner.record_receipt(&receipt, "came").await.unwrap();
    server.set_clock("2026-05-11T08:00:00-03:00");
    let count = types::NewCount {
        part: "WLa20-2.4".to_owned(),
        counted: 8,
        ..types::NewCount::default()
    };
    let told = server.owner.record_count(&count, "counted").await.unwrap();
    assert_eq!(told.variance, -7);
    let open = types::ListQuestions::default();
    let open = server.owner.list_questions(&open).await.unwrap();
    let variance = open.questions.iter().find(|asked| asked.kind == "variance");
    let answer = types::NewAnswer {
        answer: "unlogged-use".to_owned(),
        ..types::NewAnswer::default()
    };
    let number = variance.expect("a question").number;
    server
        .owner
        .answer_question(number, &answer, "used")
        .await
        .unwrap();
    server.set_clock("2026-05-18T08:00:00-03:00");
    let query = GetForecasts {
        weeks: Some(8.0),
        ..of_electrodes()
    };
    let told = server.owner.get_forecasts(&query).await.unwrap();
    let told = &told.forecasts[0];
    assert_eq!((told.rung.number, &*told.rung.name), (6, "counts only"));
    assert_eq!(told.explain.as_ref().expect("it was asked for").used, 7);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_electrode_without_a_history_starts_from_its_length() {
    let server = TestServer::at(NOW).await;
    let mut part = electrode("WLa20-2.4", "2.4 mm");
    part.length = Some("175 mm".to_owned());
    server.part(part).await;
    let query = GetForecasts {
        grinds: Some(100),
        ..of_electrodes()
    };
    let told = server
        .owner
        .get_forecasts(&query)
        .await
        .expect("a forecast");
    let told = &told.forecasts[0];
    assert_eq!(told.rung.number, 7);
    let explain = told.explain.as_ref().expect("it was asked for");
    assert_eq!(
        explain.assumption_source,
        "starting assumption, by the length of the rod"
    );
    // 175 mm less a stub of 40 mm, over 0.7 x 2 mm + 0.3 x 13 mm + 0.2 mm / 3 a grind.
    let a_rod = 135.0 / (1.4 + 3.9 + 0.2 / 3.0);
    assert!(
        (told.expected - 100.0 / a_rod).abs() < 0.01,
        "{}",
        told.expected
    );
}
