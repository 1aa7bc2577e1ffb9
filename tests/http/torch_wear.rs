//! Scenario S12: one torch eats electrodes; its contrast, its follow-up, and the age of an O-ring. The figures
//! and the words are those of the scenario, worked out outside this project.

use chrono::NaiveDate;
use server::service::known::View;
use server::service::torch_wear::{TorchReading, o_rings, readings};
use tigstock_tests::TestServer;
use tigstock_tests::front_ends::{STANDARD, front_end};
use tigstock_tests::instant;
use types::{
    FitCheck, FitQuery, GetTorchWear, KitLine, NewCourse, NewCurrentBand, NewFit, NewKit, NewUsage,
    NewUsageBatch, ProblemKind, Role, TorchPartWear, TorchWear,
};

const ELECTRODE: &str = "WLa20-2.4";
/// The Monday on which the weekly check finds it.
const MONDAY: &str = "2026-06-15T08:00:00-03:00";

/// An entry of work on a torch at noon of a day.
fn work(torch: &str, day: &str, (minutes, grinds, electrodes): (i64, i64, i64)) -> NewUsage {
    NewUsage {
        id: Some(format!("{torch}-{day}")),
        torch: Some(torch.to_owned()),
        part: (electrodes > 0).then(|| ELECTRODE.to_owned()),
        what: (electrodes > 0).then(|| "took".to_owned()),
        qty: (electrodes > 0).then_some(electrodes),
        arc_minutes: Some(minutes),
        grinds: Some(grinds),
        polarity: Some("DCEN".to_owned()),
        amps: Some(135),
        at: Some(instant(&format!("{day}T12:00:00-03:00")).fixed_offset()),
        ..NewUsage::default()
    }
}

async fn log(server: &TestServer, entries: Vec<NewUsage>) {
    let batch = NewUsageBatch {
        entries,
        history: true,
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await;
    let told = told.expect("a batch");
    assert_eq!((told.refused, told.kept_aside), (0, 0), "{told:?}");
}

/// T1 and T2 with the same front end, as long as they have been here. T1 has used 58 electrodes in 410 arc
/// hours at 2.9 grinds an hour.
async fn shop() -> TestServer {
    let server = TestServer::at("2025-11-03T08:00:00-04:00").await;
    server.zone("America/Halifax").await;
    for code in STANDARD {
        server.stocked(front_end(code), 100).await;
    }
    server.torch("T1", &STANDARD).await;
    server.torch("T2", &STANDARD).await;
    server.set_clock("2026-06-02T17:00:00-03:00");
    let first = NaiveDate::from_ymd_opt(2025, 11, 10).expect("a day");
    let each = (0..41).map(|at| {
        let day = first + chrono::TimeDelta::days(4 * at);
        // Ten hours and 29 grinds on each of 41 days; 58 electrodes on them.
        let electrodes = if at < 17 { 2 } else { 1 };
        work("T1", &day.to_string(), (600, 29, electrodes))
    });
    log(&server, each.collect()).await;
    server
}

async fn fit(server: &TestServer, torch: &str, part: &str) -> FitCheck {
    let new = NewFit {
        parts: vec![part.to_owned()],
        ..NewFit::default()
    };
    let told = server
        .owner
        .create_fit(torch, &new, &FitQuery::default())
        .await;
    told.expect("it fits")
}

/// What T2 did from 3 June on: ten electrodes in 24 arc hours, 3.0 grinds an hour.
fn fast_days() -> Vec<NewUsage> {
    let days = [
        ("2026-06-03", 2),
        ("2026-06-04", 1),
        ("2026-06-05", 1),
        ("2026-06-08", 1),
        ("2026-06-09", 2),
        ("2026-06-10", 1),
        ("2026-06-11", 1),
        ("2026-06-12", 1),
    ];
    let each = days.map(|(day, electrodes)| work("T2", day, (180, 9, electrodes)));
    each.into()
}

/// The shop on the Monday: T2's back cap was changed on Tuesday 2 June.
pub(crate) async fn eats_electrodes() -> TestServer {
    let server = shop().await;
    fit(&server, "T2", "back-cap").await;
    server.set_clock(MONDAY);
    log(&server, fast_days()).await;
    server
}

async fn wear(server: &TestServer, query: &GetTorchWear) -> TorchWear {
    let told = server.owner.get_torch_wear("T2", query).await;
    told.expect("the wear")
}

async fn electrode(server: &TestServer, query: GetTorchWear) -> TorchPartWear {
    let query = GetTorchWear {
        part: Some("electrode".to_owned()),
        ..query
    };
    let mut told = wear(server, &query).await;
    assert_eq!(told.parts.len(), 1, "{told:?}");
    told.parts.remove(0)
}

/// What the weekly check finds now.
async fn weekly(server: &TestServer) -> Vec<TorchReading> {
    let db = server.context.store.read();
    let site = server::store::sites::find(db, "shop")
        .await
        .expect("a query");
    let view = View::present(server.context.clock.now());
    let found = readings(db, &site.expect("the site"), view).await;
    found.expect("readings")
}

async fn alarms(server: &TestServer) -> Vec<String> {
    let found = weekly(server).await.into_iter().filter(|it| it.alarm);
    found.map(|it| it.torch).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn the_torch_is_told_with_the_figures_and_the_words_of_the_scenario() {
    let server = eats_electrodes().await;
    let told = electrode(&server, GetTorchWear::default()).await;
    assert_eq!((&*told.part, &*told.state), (ELECTRODE, "alarm"));
    assert_eq!((told.used, &*told.per), (10, "arc-hour"));
    assert_eq!(told.since.to_string(), "2026-06-03");
    assert!((told.over - 24.0).abs() < 1e-9);
    assert!(
        (told.expected - 60.0 * 24.0 / 430.0).abs() < 1e-9,
        "{told:?}"
    );
    assert!((told.tail - 0.0033).abs() < 5e-5, "{}", told.tail);
    let times = told.times.expect("the others used some");
    assert!(
        (times - (10.0 / 24.0) / (58.0 / 410.0)).abs() < 1e-9,
        "{times}"
    );
    assert!((times - 2.95).abs() < 0.005, "{times}");
    let ratio = &told.ratio;
    for (found, expected) in [(ratio.low, 1.1), (ratio.median, 1.9), (ratio.high, 3.1)] {
        assert!((found - expected).abs() < 0.05, "{ratio:?}");
    }
    assert_eq!(
        told.says,
        [
            "T2 uses electrodes about three times as fast: 10 in 24 arc hours, 3.3 expected (a normal torch does \
             this 1 time in 300). Allowing for the small sample the true rate is probably between 1.1 and 3.1 \
             times normal.",
            "Began 3 Jun, one day after the back cap was changed. Grinds per hour did not rise, so dipping is \
             unlikely; think erosion or oxidation.",
        ]
    );
    let grinds = told.grinds_per_hour.as_ref().expect("both are logged");
    assert!((grinds.torch - 3.0).abs() < 1e-9 && (grinds.others - 2.9).abs() < 1e-9);
    assert_eq!(told.changed.len(), 1);
    assert_eq!(told.changed[0].parts, ["cap-long"]);
    let words = serde_json::to_string(&told).expect("it is JSON");
    assert!(!words.contains("caused by"), "{words}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_checks_are_those_of_the_scenario_in_its_order() {
    let server = eats_electrodes().await;
    let told = wear(&server, &GetTorchWear::default()).await;
    let part = told.parts.iter().find(|part| part.part == ELECTRODE);
    let checks = &part.expect("the electrode").checks;
    let order: Vec<(i64, &str)> = checks.iter().map(|it| (it.number, &*it.check)).collect();
    assert_eq!(
        order,
        [
            (1, "record"),
            (2, "o-ring"),
            (3, "gas"),
            (4, "polarity"),
            (5, "current"),
            (6, "balance"),
            (7, "collet"),
            (8, "class")
        ]
    );
    let because = checks[1].because.as_deref();
    assert_eq!(because, Some("the back cap was changed shortly before"));
    assert_eq!(
        checks[4].says,
        "Current: within the band you set for 2.4 mm."
    );
    assert!(told.cautions[0].starts_with("Power source off"), "{told:?}");
    // Every fitted part is told, and only electrodes have a list of checks.
    assert_eq!(told.parts.len() + told.cannot_tell.len(), STANDARD.len());
    let others = told.parts.iter().filter(|part| part.part != ELECTRODE);
    assert!(others.clone().count() > 3 && others.into_iter().all(|it| it.checks.is_empty()));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_known_orders_the_checks() {
    let server = shop().await;
    let band = NewCurrentBand {
        diameter: "2.4 mm".to_owned(),
        class: None,
        polarity: "DCEN".to_owned(),
        amps_min: 60,
        amps_max: 130,
        source: "own trials (invented)".to_owned(),
        ..NewCurrentBand::default()
    };
    server
        .owner
        .create_current_band(&band)
        .await
        .expect("a band");
    server.set_clock(MONDAY);
    log(&server, fast_days()).await;
    let told = electrode(&server, GetTorchWear::default()).await;
    let second = &told.checks[1];
    assert_eq!(second.check, "current");
    assert_eq!(
        second.because.as_deref(),
        Some("work was logged above your band")
    );
    let grey = GetTorchWear {
        seen: Some("grey-tip".to_owned()),
        ..GetTorchWear::default()
    };
    let told = electrode(&server, grey).await;
    let order: Vec<&str> = told.checks.iter().take(3).map(|it| &*it.check).collect();
    assert_eq!(order, ["record", "gas", "current"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_weekly_check_raises_it_and_only_it() {
    let server = eats_electrodes().await;
    assert_eq!(alarms(&server).await, ["T2"]);
    let found = weekly(&server).await;
    let parts: Vec<&str> = found.iter().map(|it| &*it.part).collect();
    assert_eq!(parts, [ELECTRODE, ELECTRODE]);
    // A week earlier there were four pieces in nine hours: nothing that chance does not do.
    let before = GetTorchWear {
        now: Some("2026-06-08T00:00:00-03:00".to_owned()),
        ..GetTorchWear::default()
    };
    let told = electrode(&server, before).await;
    assert_eq!((&*told.state, told.used), ("normal", 4));
    assert_eq!(told.says.len(), 1);
    assert_eq!(
        told.says[0],
        "T2 uses electrodes like the other torches: 4 in 9 arc hours, 1.3 expected."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_first_look_of_the_week_tells_it_once_and_the_repair_closes_it() {
    let server = eats_electrodes().await;
    let about_torches = |warnings: Vec<types::Warning>| -> Vec<(String, String)> {
        let these = warnings.into_iter().filter(|it| it.kind == "torch-wear");
        these.map(|it| (it.subject, it.says)).collect()
    };
    let told = about_torches(server.looks().await.told);
    assert_eq!(told.len(), 1, "{told:?}");
    let (subject, says) = &told[0];
    assert_eq!(subject, "T2");
    assert!(
        says.starts_with("T2 uses electrodes about three times as fast: 10 in 24 arc hours"),
        "{says}"
    );
    let next =
        "Next: check the record, then the back-cap O-ring; the whole list: tigstock explain T2.";
    assert!(says.ends_with(next), "{says}");
    // Not again, neither on this day nor in the next week.
    for now in ["2026-06-15T09:00:00-03:00", "2026-06-22T08:00:00-03:00"] {
        server.set_clock(now);
        assert_eq!(about_torches(server.looks().await.told), [], "{now}");
    }
    fit(&server, "T2", "o-ring").await;
    server.set_clock("2026-06-26T08:00:00-03:00");
    let after = [("2026-06-23", 0), ("2026-06-24", 1), ("2026-06-25", 0)];
    let after = after.map(|(day, electrodes)| work("T2", day, (240, 12, electrodes)));
    log(&server, after.into()).await;
    let closed = about_torches(server.looks().await.closed);
    assert_eq!(closed.len(), 1, "{closed:?}");
    let kept = server
        .owner
        .get_warning_self_check(&types::GetWarningSelfCheck::default())
        .await;
    let kept = kept.expect("the self-check");
    assert!(kept.acted_on >= 1, "{kept:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_look_in_the_middle_of_a_week_raises_nothing_new() {
    let server = shop().await;
    server.set_clock(MONDAY);
    server.looks().await;
    let days = (15..18).map(|day| work("T2", &format!("2026-06-{day}"), (30, 2, 4)));
    server.set_clock("2026-06-18T08:00:00-03:00");
    log(&server, days.collect()).await;
    let on_torches = async || {
        let told = server.looks().await.told;
        told.iter().filter(|it| it.kind == "torch-wear").count()
    };
    assert_eq!(
        electrode(&server, GetTorchWear::default()).await.state,
        "alarm"
    );
    assert_eq!(on_torches().await, 0);
    server.set_clock("2026-06-22T00:05:00-03:00");
    assert_eq!(on_torches().await, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn fewer_than_ten_pieces_take_two_readings() {
    let server = shop().await;
    // Seven in 12 hours by Sunday 7 June, and nothing in the week after.
    let entries = ["2026-06-04", "2026-06-05", "2026-06-06"].map(|day| {
        let electrodes = if day == "2026-06-04" { 3 } else { 2 };
        work("T2", day, (240, 12, electrodes))
    });
    server.set_clock("2026-06-08T08:00:00-03:00");
    log(&server, entries.into()).await;
    let told = electrode(&server, GetTorchWear::default()).await;
    // P(N >= 7) over 12 hours with the others' rate is below 0.005.
    assert!(told.tail < told.limit, "{told:?}");
    assert_eq!(told.raised_on, None);
    assert_eq!(alarms(&server).await, Vec::<String>::new());
    assert_eq!(told.state, "high");
    server.set_clock(MONDAY);
    let told = electrode(&server, GetTorchWear::default()).await;
    assert_eq!(told.state, "alarm");
    assert_eq!(told.raised_on.expect("a check").to_string(), "2026-06-15");
    assert_eq!(alarms(&server).await, ["T2"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn after_the_o_ring_was_replaced_it_looks_normal() {
    let server = eats_electrodes().await;
    server.set_clock("2026-06-15T18:00:00-03:00");
    fit(&server, "T2", "o-ring").await;
    let early = electrode(&server, GetTorchWear::default()).await;
    assert_eq!(early.state, "repaired");
    assert!(
        early.says[0].starts_with("Too early to tell: 0 used"),
        "{early:?}"
    );
    server.set_clock("2026-06-20T08:00:00-03:00");
    let entries = [("2026-06-16", 0), ("2026-06-17", 1), ("2026-06-18", 0)];
    let entries = entries.map(|(day, electrodes)| work("T2", day, (240, 12, electrodes)));
    log(&server, entries.into()).await;
    let told = electrode(&server, GetTorchWear::default()).await;
    assert_eq!(told.state, "normal");
    let words = "Looks normal: 1 used, 1.7 expected. At the old rate so few would be a 4 % chance.";
    assert_eq!(told.says, [words]);
    let after = told.follow_up.expect("a follow-up");
    assert_eq!((&*after.outcome, after.used), ("looks normal", 1));
    assert_eq!(after.parts, ["o-ring-large"]);
    assert!((after.over - 12.0).abs() < 1e-9);
    assert!((after.as_few_if_normal - 0.50).abs() < 0.005, "{after:?}");
    assert!(
        (after.as_few_if_unchanged - 0.04).abs() < 0.005,
        "{after:?}"
    );
    assert!(told.checks.is_empty());
    assert_eq!(alarms(&server).await, Vec::<String>::new());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_repair_that_did_not_help_is_not_let_off() {
    let server = eats_electrodes().await;
    server.set_clock("2026-06-15T18:00:00-03:00");
    fit(&server, "T2", "collet").await;
    server.set_clock("2026-06-20T08:00:00-03:00");
    let entries = ["2026-06-16", "2026-06-17", "2026-06-18"];
    let entries = entries.map(|day| work("T2", day, (240, 12, 2)));
    log(&server, entries.into()).await;
    let told = electrode(&server, GetTorchWear::default()).await;
    assert_eq!(told.state, "alarm");
    assert!(
        told.says[0].starts_with("Still fast: 6 used, 1.7 expected."),
        "{told:?}"
    );
    assert!(
        told.says[1].starts_with("T2 uses electrodes about"),
        "{told:?}"
    );
    assert_eq!(alarms(&server).await, ["T2"]);
}

/// The contrast: beginners on T2 on 12 and 13 September, with three times as many grinds.
async fn course(grinds: i64, is_held: bool) -> TestServer {
    let server = shop().await;
    let kit = NewKit {
        code: "K-24".to_owned(),
        name: None,
        parts: vec![KitLine {
            part: ELECTRODE.to_owned(),
            quantity: 1,
            ..KitLine::default()
        }],
    };
    server.owner.create_kit(&kit).await.expect("a kit");
    let held = NewCourse {
        code: "course-0912".to_owned(),
        kit: "K-24".to_owned(),
        starts: "2026-09-12".parse().expect("a day"),
        ends: Some("2026-09-13".parse().expect("a day")),
        heads: 12,
        stations: 6,
        ..NewCourse::default()
    };
    if is_held {
        server.owner.create_course(&held).await.expect("a course");
    }
    server.set_clock("2026-09-14T08:00:00-03:00");
    let days = ["2026-09-12", "2026-09-13"].map(|day| NewUsage {
        group: Some("beginner".to_owned()),
        ..work("T2", day, (720, grinds, 5))
    });
    log(&server, days.into()).await;
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn a_course_explains_it_and_no_fault_is_suspected() {
    let server = course(108, true).await;
    let told = electrode(&server, GetTorchWear::default()).await;
    assert_eq!(told.state, "explained");
    assert_eq!(
        told.says,
        [
            "T2 used 10 electrodes in 24 arc hours, 3.3 expected.",
            "Explained by the course on 12-13 Sep. No fault suspected.",
        ]
    );
    let grinds = told.grinds_per_hour.expect("both are logged");
    assert!((grinds.torch - 9.0).abs() < 1e-9, "{grinds:?}");
    assert_eq!(told.groups.len(), 1);
    assert_eq!(
        (&*told.groups[0].group, told.groups[0].factor),
        ("beginner", None)
    );
    assert!(told.checks.is_empty());
    assert_eq!(alarms(&server).await, Vec::<String>::new());
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_course_the_group_is_named_and_without_more_grinding_nothing_is_explained() {
    let server = course(108, false).await;
    let told = electrode(&server, GetTorchWear::default()).await;
    let words =
        "Explained by who worked: the group beginner used 10 of the 10. No fault suspected.";
    assert_eq!(told.says[1], words);
    let server = course(36, true).await;
    let told = electrode(&server, GetTorchWear::default()).await;
    assert_eq!(told.state, "untold", "{told:?}");
    assert_eq!(told.checks[0].check, "record");
    assert_eq!(
        told.checks[0].because.as_deref(),
        Some("one entry tells of five pieces or more; a course was held meanwhile")
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_group_whose_pace_is_known_is_held_against_its_own_pace() {
    let server = shop().await;
    server.set_clock(MONDAY);
    let beginner = |entry: NewUsage| NewUsage {
        group: Some("beginner".to_owned()),
        ..entry
    };
    // Beginners on T1: 30 electrodes in 70 hours, three times as fast as the shop's own 58 in 410.
    let others = [
        "2026-05-04",
        "2026-05-05",
        "2026-05-06",
        "2026-05-07",
        "2026-05-08",
    ];
    let others = others.map(|day| beginner(work("T1", day, (840, 60, 6))));
    log(&server, others.into()).await;
    log(&server, fast_days().into_iter().map(beginner).collect()).await;
    let told = electrode(&server, GetTorchWear::default()).await;
    assert_eq!(told.state, "explained", "{told:?}");
    let factor = told.groups[0].factor.expect("it is learned");
    assert!((2.5..=3.2).contains(&factor), "{factor}");
    let words =
        "Explained by who worked: the group beginner used 10 of the 10. No fault suspected.";
    assert_eq!(told.says[1], words);
    assert_eq!(alarms(&server).await, Vec::<String>::new());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mended_torch_that_becomes_fast_again_is_told_again() {
    let server = eats_electrodes().await;
    server.set_clock("2026-06-15T18:00:00-03:00");
    fit(&server, "T2", "o-ring").await;
    server.set_clock("2026-07-20T08:00:00-03:00");
    let normal = [("2026-06-16", 0), ("2026-06-17", 1), ("2026-06-18", 0)];
    let normal = normal.map(|(day, electrodes)| work("T2", day, (240, 12, electrodes)));
    log(&server, normal.into()).await;
    let again = (6..10).map(|day| work("T2", &format!("2026-07-{day:02}"), (240, 12, 3)));
    log(&server, again.collect()).await;
    let told = electrode(&server, GetTorchWear::default()).await;
    assert_eq!(told.state, "alarm", "{told:?}");
    assert_eq!(
        (told.since.to_string(), told.used),
        ("2026-07-06".to_owned(), 12)
    );
    assert_eq!(alarms(&server).await, ["T2"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_window_can_be_fixed_beforehand_and_redone_on_paper() {
    let server = eats_electrodes().await;
    let query = GetTorchWear {
        since: Some("2026-06-08".parse().expect("a day")),
        explain: Some("1".to_owned()),
        ..GetTorchWear::default()
    };
    let told = electrode(&server, query).await;
    assert_eq!((told.used, told.windows), (6, 1));
    assert!((told.over - 15.0).abs() < 1e-9);
    let explain = told.explain.expect("it was asked for");
    assert_eq!(explain.others_used, 58);
    assert!((explain.others_over - 410.0).abs() < 1e-9);
    assert!((explain.shape - 60.0).abs() < 1e-9 && (explain.rate - 430.0).abs() < 1e-9);
    // The negative binomial term by term.
    let q = 15.0 / (explain.rate + 15.0);
    let (mut term, mut below) = ((1.0 - q).powf(explain.shape), 0.0);
    for k in 0..6 {
        below += term;
        term *= q * (explain.shape + f64::from(k)) / (f64::from(k) + 1.0);
    }
    assert!((told.tail - (1.0 - below)).abs() < 1e-9, "{}", told.tail);
    let part = electrode(&server, GetTorchWear::default()).await;
    assert!(part.explain.is_none());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_torch_without_others_cannot_be_compared() {
    let server = TestServer::at(MONDAY).await;
    for code in STANDARD {
        server.stocked(front_end(code), 10).await;
    }
    server.torch("T2", &STANDARD).await;
    let told = wear(&server, &GetTorchWear::default()).await;
    assert_eq!(
        (told.parts.len(), told.cannot_tell.len()),
        (0, STANDARD.len())
    );
    assert!(
        told.cannot_tell[0].why.contains("log them with the torch"),
        "{told:?}"
    );
    assert!(told.cautions.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_question_names_its_field() {
    let server = shop().await;
    for (query, pointer) in [
        ("part=nothing", "?part"),
        ("part=gas-lens", "?part"),
        ("now=today", "?now"),
        ("seen=purple", "?seen"),
        ("explain=yes", "?explain"),
    ] {
        let path = format!("/v1/torches/T2/wear?{query}");
        let problem = server.ask("GET", &path).send().await;
        let problem = problem.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, pointer, "{query}");
    }
    let reader = server.client(Role::Read);
    let missing = reader.get_torch_wear("T9", &GetTorchWear::default()).await;
    assert!(
        missing
            .expect_err("no such torch")
            .is(ProblemKind::NotFound)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_o_ring_clock_counts_months_and_known_removals() {
    let server = eats_electrodes().await;
    // Fitted on 3 November; T2: 72 grinds, 10 electrodes, one refit of the back cap.
    let ring = wear(&server, &GetTorchWear::default()).await.o_ring;
    let ring = ring.expect("one is fitted");
    assert_eq!((ring.months, ring.removals), (7, 83));
    assert_eq!((ring.limit_months, ring.limit_removals), (12, 200));
    assert!(ring.assumed && !ring.due, "{ring:?}");
    assert_eq!(
        ring.says,
        "O-ring of T2: 7 months and 83 known cap removals since it was fitted (72 grinds, 10 electrodes changed, \
         1 refit; what was only looked at is not known). Look at it at 12 months or 200 removals (starting \
         assumption)."
    );
    let later = GetTorchWear {
        now: Some("2026-11-03T08:00:00-04:00".to_owned()),
        ..GetTorchWear::default()
    };
    let old = wear(&server, &later).await.o_ring.expect("one is fitted");
    assert!(
        old.due && old.says.contains("Limit 12 months (starting assumption)."),
        "{old:?}"
    );
    // The shop's own limit of removals.
    let part = server
        .owner
        .get_part("o-ring-large")
        .await
        .expect("the part");
    let version = part.version;
    let mut own = part.into_new();
    own.renew_removals = Some(80);
    let owner = &server.owner;
    owner
        .replace_part("o-ring-large", &own, version)
        .await
        .expect("an edit");
    let ring = wear(&server, &GetTorchWear::default())
        .await
        .o_ring
        .expect("one is fitted");
    assert!(ring.due && !ring.assumed, "{ring:?}");
    assert!(
        ring.says.ends_with(
            "Limit 80 removals. Next: look at it, and fit a new one if it is nicked, flat or hard."
        ),
        "{ring:?}"
    );
    // A new one of the same part starts anew.
    fit(&server, "T2", "o-ring").await;
    let ring = wear(&server, &GetTorchWear::default())
        .await
        .o_ring
        .expect("one is fitted");
    assert_eq!((ring.months, ring.removals, ring.due), (0, 0, false));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_o_rings_of_a_site_are_told_together_and_their_limits_are_checked() {
    let server = eats_electrodes().await;
    let db = server.context.store.read();
    let site = server::store::sites::find(db, "shop")
        .await
        .expect("a query");
    let view = View::present(server.context.clock.now());
    let ages = o_rings(db, &site.expect("the site"), view)
        .await
        .expect("ages");
    // T1: 1189 grinds and 58 electrodes.
    let told: Vec<(i64, bool)> = ages.iter().map(|it| (it.removals, it.due)).collect();
    assert_eq!(told, [(1247, true), (83, false)]);
    let mut part = front_end("o-ring-large");
    part.code = "another".to_owned();
    part.renew_months = Some(0);
    let refused = server
        .owner
        .create_part(&part)
        .await
        .expect_err("out of range");
    assert!(refused.is(ProblemKind::Invalid));
    let mut cup = front_end("cup-8");
    cup.renew_months = Some(12);
    let refused = server
        .owner
        .create_part(&cup)
        .await
        .expect_err("not of a cup");
    assert!(refused.is(ProblemKind::Invalid));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_entries_of_a_torch_are_found_by_torch_and_time() {
    use sea_orm::{ConnectionTrait, Statement};
    if tigstock_tests::database::is_without_file("reads a plan of SQLite") {
        return;
    }
    let server = eats_electrodes().await;
    let db = server.context.store.read();
    let plan = "EXPLAIN QUERY PLAN SELECT entries.day, SUM(entries.grinds) FROM entries \
                INNER JOIN set_up_parts ON entries.set_up_id = set_up_parts.set_up_id \
                WHERE entries.torch_id IN (1, 2) AND entries.happened_at >= 20000 AND set_up_parts.part_id IN (1, 2, 3) \
                GROUP BY entries.day";
    let statement = Statement::from_string(db.get_database_backend(), plan);
    let rows = db.query_all_raw(statement).await.expect("a plan");
    let steps: Vec<String> = rows
        .iter()
        .map(|row| row.try_get("", "detail").expect("a step"))
        .collect();
    let by_index = "entries_torch_happened (torch_id=? AND happened_at>?)";
    assert!(
        steps.iter().any(|step| step.contains(by_index)),
        "{steps:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn an_o_ring_that_is_due_has_a_line_in_the_weekly_digest() {
    let server = eats_electrodes().await;
    server.set_clock("2026-06-21T18:00:00-03:00");
    let made = server::service::digests::make_due(&server.context).await;
    assert_eq!(made.expect("digests"), 1);
    let db = server.context.store.read();
    let kind = types::EventKind::DigestReady.as_str();
    let told = server::store::events::of_kind_since(db, kind, 0)
        .await
        .expect("events");
    let said = &told.last().expect("a digest").data;
    assert!(
        said.contains("O-ring of T1: 7 months and 1247 known cap removals"),
        "{said}"
    );
    // That of T2 has 83.
    assert!(!said.contains("O-ring of T2"), "{said}");
}
