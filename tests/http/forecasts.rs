//! Forecasts of single parts: a part with no history against one with three years (scenario S10),
//! and the order point and run-out dates of scenario X1. The figures are those of the scenarios,
//! worked out outside this project.

use tigstock_tests::TestServer;
use tigstock_tests::builders::{assuming, electrode, gas_lens};
use types::{Forecast, Forecasts, GetForecasts, NewCount, NewMovement, NewUsage, ProblemKind};

const NOW: &str = "2026-06-15T08:00:00-03:00";

/// What 34 arc hours will use of those parts.
fn over_34_hours(parts: &str) -> GetForecasts {
    GetForecasts {
        part: Some(parts.to_owned()),
        arc: Some("34h".to_owned()),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    }
}

async fn ask(server: &TestServer, query: &GetForecasts) -> Forecasts {
    server.owner.get_forecasts(query).await.expect("forecasts")
}

async fn one(server: &TestServer, query: &GetForecasts) -> Forecast {
    let mut forecasts = ask(server, query).await.forecasts;
    assert_eq!(forecasts.len(), 1);
    forecasts.remove(0)
}

async fn log_hours(server: &TestServer, torch: &str, hours: i64) {
    let usage = NewUsage {
        torch: Some(torch.to_owned()),
        arc_minutes: Some(hours * 60),
        ..NewUsage::default()
    };
    let key = format!("hours-{torch}");
    let logged = server.owner.record_usage(&usage, &key).await;
    logged.expect("it is logged");
}

/// Gas lens A used 9 in 410 arc hours on T1; gas lens B is new, fitted in T2.
async fn two_lenses() -> TestServer {
    let server = TestServer::at(NOW).await;
    for (part, torch) in [("gas-lens-A", "T1"), ("gas-lens-B", "T2")] {
        let lens = assuming(gas_lens(part), "arc-hour", 1.0, 40.0);
        server.stocked(lens, 12).await;
        server.torch(torch, &[part]).await;
    }
    server.set_clock("2026-06-15T08:01:00-03:00");
    log_hours(&server, "T1", 410).await;
    for number in 0..9 {
        server.take("gas-lens-A", &format!("lens-{number}")).await;
    }
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn nearly_the_same_mean_needs_one_spare_more_when_the_part_is_unknown() {
    let server = two_lenses().await;
    let told = ask(&server, &over_34_hours("gas-lens-A,gas-lens-B")).await;
    let [a, b] = &told.forecasts[..] else {
        panic!("two forecasts: {told:?}")
    };
    assert!((a.expected - 0.76).abs() < 0.005, "{}", a.expected);
    assert!((b.expected - 0.85).abs() < 0.005, "{}", b.expected);
    assert_eq!((a.need, b.need), (2, 3));
    assert!(told.cannot_tell.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn the_share_of_own_data_is_91_per_cent_for_one_and_none_for_the_other() {
    let server = two_lenses().await;
    let told = ask(&server, &over_34_hours("gas-lens-A,gas-lens-B")).await;
    let shares: Vec<f64> = told.forecasts.iter().map(|it| it.own_share).collect();
    assert!((shares[0] - 410.0 / 450.0).abs() < 1e-12, "{shares:?}");
    assert!(shares[1].abs() < 1e-12, "{shares:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn each_forecast_says_on_what_it_stands() {
    let server = two_lenses().await;
    let told = ask(&server, &over_34_hours("gas-lens-A,gas-lens-B")).await;
    let says: Vec<&str> = told.forecasts.iter().map(|it| &*it.says).collect();
    assert!(
        says[0].starts_with("From your 410 arc hours: 9 used."),
        "{says:?}"
    );
    let new = "No history yet. Starting assumption: 1 per 40 arc hours.";
    assert!(says[1].starts_with(new), "{says:?}");
    let rungs: Vec<_> = told
        .forecasts
        .iter()
        .map(|it| (it.rung.number, &*it.rung.name))
        .collect();
    assert_eq!(rungs, [(2, "typed estimate"), (7, "starting assumption")]);
}

#[tokio::test(flavor = "multi_thread")]
async fn twenty_hours_without_a_loss_take_the_spare_off_again() {
    let server = two_lenses().await;
    log_hours(&server, "T2", 20).await;
    let b = one(&server, &over_34_hours("gas-lens-B")).await;
    assert!((b.expected - 0.57).abs() < 0.005, "{}", b.expected);
    assert_eq!(b.need, 2);
    assert!((b.own_share - 1.0 / 3.0).abs() < 1e-12, "{}", b.own_share);
    let told = "From 20 arc hours of yours and the starting assumption.";
    assert!(b.says.starts_with(told), "{}", b.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_figures_behind_a_forecast_redo_it() {
    let server = two_lenses().await;
    let a = one(&server, &over_34_hours("gas-lens-A")).await;
    let explain = a.explain.expect("it was asked for");
    let found = [
        explain.assumption.shape,
        explain.assumption.rate,
        explain.over,
        explain.shape,
        explain.rate,
        explain.to_come,
    ];
    for (found, expected) in found.into_iter().zip([1.0, 40.0, 410.0, 10.0, 450.0, 34.0]) {
        assert!((found - expected).abs() < 1e-9, "{explain:?}");
    }
    assert_eq!(explain.used, 9);
    assert_eq!(explain.assumption_source, "the shop's own");
    assert!((a.expected - explain.shape * explain.to_come / explain.rate).abs() < 1e-12);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_figures_are_left_out_unless_asked_for() {
    let server = two_lenses().await;
    let query = GetForecasts {
        explain: None,
        ..over_34_hours("gas-lens-A")
    };
    assert!(one(&server, &query).await.explain.is_none());
}

#[tokio::test(flavor = "multi_thread")]
async fn the_run_out_of_an_unknown_part_is_never_as_firm_as_that_of_a_known_one() {
    let server = two_lenses().await;
    // As many of both, so that only what is known differs.
    let count = NewCount {
        part: "gas-lens-A".to_owned(),
        counted: 12,
        ..NewCount::default()
    };
    server.owner.record_count(&count, "again").await.unwrap();
    let query = GetForecasts {
        pace: Some("40h".to_owned()),
        ..over_34_hours("gas-lens-A,gas-lens-B")
    };
    let told = ask(&server, &query).await;
    let days: Vec<Option<i64>> = told
        .forecasts
        .iter()
        .map(|it| {
            let run_out = it.run_out.as_ref().expect("there is a pace");
            Some((run_out.late? - run_out.early?).num_days())
        })
        .collect();
    assert!(
        days[1].is_none() || days[1] > days[0],
        "{:?}",
        told.forecasts
    );
}

/// One electrode size with no history: 26 used in 220 arc hours is the shop's own assumption.
async fn one_size() -> TestServer {
    let server = TestServer::at("2026-06-14T20:00:00-03:00").await;
    server.zone("America/Halifax").await;
    let part = assuming(electrode("WLa20-1.6", "1.6 mm"), "arc-hour", 26.0, 220.0);
    server.stocked(part, 5).await;
    server.set_clock("2026-06-15T00:00:00-03:00");
    server
}

fn six_hours_a_week() -> GetForecasts {
    GetForecasts {
        part: Some("WLa20-1.6".to_owned()),
        arc: Some("12h".to_owned()),
        pace: Some("6h".to_owned()),
        cover_days: Some(14),
        ..GetForecasts::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_order_point_over_two_weeks_is_4() {
    let server = one_size().await;
    let told = one(&server, &six_hours_a_week()).await;
    assert_eq!(told.order_point, Some(4));
    assert_eq!((told.need, told.available), (4, 5));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_run_out_is_a_range_from_3_july_to_22_september() {
    let server = one_size().await;
    let told = one(&server, &six_hours_a_week()).await;
    let run_out = told.run_out.expect("there is a pace");
    let days = [run_out.early, run_out.median, run_out.late];
    let days = days.map(|day| day.expect("within ten years").to_string());
    assert_eq!(days, ["2026-07-03", "2026-07-31", "2026-09-22"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_run_out_counts_from_the_day_in_the_zone_of_the_site() {
    let server = one_size().await;
    // Still Sunday in UTC minus three hours, Monday in UTC.
    let query = GetForecasts {
        now: Some("2026-06-15T02:59:00Z".to_owned()),
        ..six_hours_a_week()
    };
    let told = one(&server, &query).await;
    let early = told.run_out.and_then(|run_out| run_out.early);
    assert_eq!(early.expect("a day").to_string(), "2026-07-02");
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_on_hand_has_run_out_today() {
    let server = one_size().await;
    let scrapped = NewMovement {
        part: "WLa20-1.6".to_owned(),
        kind: "scrap".to_owned(),
        quantity: 5,
        ..NewMovement::default()
    };
    let owner = &server.owner;
    owner.record_movement(&scrapped, "bent").await.unwrap();
    let told = one(&server, &six_hours_a_week()).await;
    assert_eq!(told.available, 0);
    let late = told.run_out.and_then(|run_out| run_out.late);
    assert_eq!(late.expect("a day").to_string(), "2026-06-15");
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_pace_or_a_log_there_is_no_run_out_and_no_order_point() {
    let server = one_size().await;
    let query = GetForecasts {
        pace: None,
        ..six_hours_a_week()
    };
    let told = one(&server, &query).await;
    assert_eq!((told.run_out, told.order_point), (None, None));
}

#[tokio::test(flavor = "multi_thread")]
async fn all_fitted_parts_are_told_unless_some_are_named() {
    let server = two_lenses().await;
    server.part(electrode("spare", "2.4 mm")).await;
    let query = GetForecasts {
        part: None,
        ..over_34_hours("")
    };
    let told = ask(&server, &query).await;
    let parts: Vec<_> = told.forecasts.iter().map(|it| &*it.part).collect();
    assert_eq!(parts, ["gas-lens-A", "gas-lens-B"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn groups_are_kept_apart() {
    let server = two_lenses().await;
    let query = GetForecasts {
        group: Some("beginner".to_owned()),
        ..over_34_hours("gas-lens-A")
    };
    let told = ask(&server, &query).await;
    assert_eq!(told.group, "beginner");
    assert_eq!(told.forecasts[0].rung.number, 7);
    assert!(told.forecasts[0].own_share.abs() < 1e-12);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_question_that_cannot_be_answered_points_at_the_query() {
    let server = one_size().await;
    let bad = [
        ("arc=12", "?arc"),
        ("arc=12h&pace=0h", "?pace"),
        ("arc=12h&cover_days=0", "?cover_days"),
        ("arc=12h&cover_days=3651", "?cover_days"),
        ("arc=12h&target=1", "?target"),
        ("weeks=0", "?weeks"),
        ("weeks=NaN", "?weeks"),
        ("grinds=-1", "?grinds"),
        ("arc=12h&group=student", "?group"),
        ("arc=12h&explain=yes", "?explain"),
        ("arc=12h&now=today", "?now"),
        ("arc=12h&site=attic", "?site"),
        ("arc=12h&part=nothing", "?part"),
        ("arc=12h&part=,", "?part"),
        ("", "?arc"),
    ];
    for (query, pointer) in bad {
        let path = format!("/v1/forecasts?{query}");
        let problem = server.ask("GET", &path).send().await;
        let problem = problem.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, pointer, "{query}");
    }
}
