//! Clocks of arc time: the arc timer of a power source and swaps of the gas cylinder. The figures of the
//! cylinder are those of a printed example: 8400 L at 8 L/min, 900 starts of 8.5 s.

use tigstock_tests::builders::electrode;
use tigstock_tests::{TestServer, instant};
use types::{GetForecasts, NewCylinderSwap, NewReversal, NewUsage, Recorded};

/// Makes a swap that makes no sense.
type Spoil = fn(&mut NewCylinderSwap);

const NOW: &str = "2026-06-15T08:00:00-03:00";

async fn shop() -> TestServer {
    let server = TestServer::at(NOW).await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    server.torch("T1", &["WLa20-2.4"]).await;
    server
}

fn on(day: &str) -> NewUsage {
    NewUsage {
        torch: Some("T1".to_owned()),
        at: Some(instant(&format!("2026-{day}T12:00:00-03:00")).fixed_offset()),
        ..NewUsage::default()
    }
}

fn typed(day: &str, minutes: i64) -> NewUsage {
    NewUsage {
        arc_minutes: Some(minutes),
        ..on(day)
    }
}

fn timer(day: &str, hours: i64) -> NewUsage {
    NewUsage {
        arc_timer_minutes: Some(hours * 60),
        ..on(day)
    }
}

fn swap(day: &str) -> NewUsage {
    NewUsage {
        cylinder: Some(Box::new(NewCylinderSwap {
            litres: 8_400,
            flow: "8 L/min".to_owned(),
            starts: Some(900),
            pre_flow_seconds: Some(0.5),
            post_flow_seconds: Some(8.0),
            purge_litres: None,
        })),
        ..on(day)
    }
}

async fn log(server: &TestServer, usage: &NewUsage) -> Recorded {
    let key = uuid::Uuid::now_v7().to_string();
    let told = server.owner.record_usage(usage, &key).await;
    told.unwrap_or_else(|error| panic!("{usage:?}: {error}"))
}

async fn refused(server: &TestServer, usage: &NewUsage) -> String {
    let told = server.owner.record_usage(usage, "refused").await;
    told.expect_err("it makes no sense").to_string()
}

/// The arc hours on record, and the rung that they stand on.
async fn hours(server: &TestServer) -> (f64, u8) {
    let query = GetForecasts {
        part: Some("WLa20-2.4".to_owned()),
        arc: Some("1h".to_owned()),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    };
    let told = server
        .owner
        .get_forecasts(&query)
        .await
        .expect("a forecast");
    let told = &told.forecasts[0];
    let explain = told.explain.as_ref().expect("it was asked for");
    (explain.over, told.rung.number)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_timer_counts_from_its_last_reading_less_what_was_logged() {
    let server = shop().await;
    let told = log(&server, &timer("06-01", 1_000)).await;
    assert!(told.says.contains("arc time counts from here"), "{told:?}");
    assert!(hours(&server).await.0.abs() < 1e-9);
    log(&server, &typed("06-03", 120)).await;
    let told = log(&server, &timer("06-08", 1_010)).await;
    let says =
        "Arc timer at 1010 h, 10 h since 1 Jun 2026. 2 h of it was logged already. T1: 480 min.";
    assert!(told.says.starts_with(says), "{}", told.says);
    let (arc, rung) = hours(&server).await;
    assert!((arc - 10.0).abs() < 1e-9, "{arc}");
    assert_eq!(rung, 1);
    // More was typed than the timer tells: nothing is added, and it is said by how much.
    log(&server, &typed("06-09", 180)).await;
    let told = log(&server, &timer("06-10", 1_012)).await;
    assert!(told.says.contains("1 h more than that"), "{}", told.says);
    assert!((hours(&server).await.0 - 13.0).abs() < 1e-9);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_timer_that_was_reset_counts_anew() {
    let server = shop().await;
    log(&server, &timer("06-01", 1_000)).await;
    log(&server, &timer("06-03", 1_004)).await;
    let reset = NewUsage {
        arc_timer_restarted: true,
        ..timer("06-05", 2)
    };
    let told = log(&server, &reset).await;
    let says = "Arc timer anew at 2 h; arc time counts from here. WLa20-2.4: 0 left.";
    assert_eq!(told.says, says);
    log(&server, &timer("06-08", 5)).await;
    assert!((hours(&server).await.0 - 7.0).abs() < 1e-9);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_first_swap_adds_nothing_to_what_was_logged_before_it() {
    let server = shop().await;
    log(&server, &typed("05-20", 5 * 60)).await;
    let told = log(&server, &swap("06-01")).await;
    assert!(
        told.says.contains("5 h of it was logged already"),
        "{told:?}"
    );
    let (arc, _) = hours(&server).await;
    assert!((arc - 15.375).abs() < 0.05, "{arc}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_that_was_taken_back_counts_for_nothing() {
    let server = shop().await;
    log(&server, &timer("06-01", 1_000)).await;
    let wrong = log(&server, &timer("06-05", 1_900)).await;
    let back = NewReversal {
        entry: wrong.entry,
        why: Some("misread".to_owned()),
    };
    server
        .owner
        .record_reversal(&back, "back")
        .await
        .expect("undone");
    log(&server, &timer("06-08", 1_010)).await;
    assert!((hours(&server).await.0 - 10.0).abs() < 1e-9);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_swapped_cylinder_tells_of_15_4_arc_hours() {
    let server = shop().await;
    let told = log(&server, &swap("06-01")).await;
    let says = "8400 L at 8 L/min less 900 starts is about 15 h 22 min of arc time.";
    assert!(told.says.starts_with(says), "{}", told.says);
    let cautions = told.cautions.join(" ");
    assert!(cautions.contains("Chain upright"), "{cautions}");
    assert!(cautions.contains("displaces air"), "{cautions}");
    let (arc, rung) = hours(&server).await;
    assert!((arc - 15.4).abs() < 0.05, "{arc}");
    assert_eq!(rung, 3);
    // The next one counts from here, less what was logged meanwhile.
    log(&server, &typed("06-05", 5 * 60)).await;
    log(&server, &swap("06-10")).await;
    let (arc, rung) = hours(&server).await;
    assert!((arc - 2.0 * 15.375).abs() < 0.05, "{arc}");
    assert_eq!(rung, 3);
}

#[tokio::test(flavor = "multi_thread")]
async fn starts_that_were_logged_stand_in_for_those_that_were_not_told() {
    let server = shop().await;
    log(&server, &swap("06-01")).await;
    let starts = NewUsage {
        starts: Some(900),
        ..on("06-05")
    };
    log(&server, &starts).await;
    let mut next = swap("06-10");
    next.cylinder.as_mut().expect("a swap").starts = None;
    let told = log(&server, &next).await;
    assert!(told.says.contains("less 900 starts"), "{}", told.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_clock_that_makes_no_sense_is_refused_with_what_to_do() {
    let server = shop().await;
    log(&server, &timer("06-05", 1_000)).await;
    let alone = NewUsage {
        arc_timer_restarted: true,
        ..typed("06-08", 60)
    };
    let alone = refused(&server, &alone).await;
    assert!(alone.contains("what the timer stands at now"), "{alone}");
    let back = refused(&server, &timer("06-08", 900)).await;
    assert!(
        back.contains("900 h is less than the 1000 h of 5 Jun"),
        "{back}"
    );
    let old = refused(&server, &timer("06-03", 1_100)).await;
    assert!(
        old.contains("is not later than the reading of 5 Jun"),
        "{old}"
    );
    let twice = NewUsage {
        arc_minutes: Some(60),
        ..timer("06-08", 1_001)
    };
    let twice = refused(&server, &twice).await;
    assert!(twice.contains("tells arc time twice"), "{twice}");
    let mut torchless = timer("06-08", 1_001);
    torchless.torch = None;
    let torchless = refused(&server, &torchless).await;
    assert!(
        torchless.contains("wear what is fitted in a torch"),
        "{torchless}"
    );
    let cases: [(Spoil, &str); 5] = [
        (|swap| swap.flow = "8".to_owned(), "write it with its unit"),
        (|swap| swap.litres = 0, "cylinder/litres"),
        (|swap| swap.starts = Some(-1), "cylinder/starts"),
        (
            |swap| swap.post_flow_seconds = Some(601.0),
            "give 0 to 600 seconds",
        ),
        (|swap| swap.starts = Some(900_000), "no arc time is left"),
    ];
    for (spoil, expected) in cases {
        let mut usage = swap("06-08");
        spoil(usage.cylinder.as_mut().expect("a swap"));
        let told = refused(&server, &usage).await;
        assert!(told.contains(expected), "{expected}: {told}");
    }
}
