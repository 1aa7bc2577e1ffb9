//! The end of a job and of a course. What was to be expected is worked out on paper: pieces used over
//! exposure, starting assumption included, times the size.

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::demo::furnished;
use types::{
    Closing, GetForecasts, GetNeeds, ListAllocations, NewAllocation, NewClosing, NewCourse, NewKit,
    NewUsage, PartsCounted, PartsUsed,
};

fn used(lines: &[(&str, i64)]) -> Vec<PartsUsed> {
    let lines = lines.iter().map(|(part, quantity)| PartsUsed {
        part: (*part).to_owned(),
        quantity: *quantity,
    });
    lines.collect()
}

fn line<'c>(closing: &'c Closing, part: &str) -> &'c types::ClosingLine {
    let found = closing.lines.iter().find(|line| line.part == part);
    found.unwrap_or_else(|| panic!("no line of {part}: {closing:?}"))
}

/// The shop of scenario S5, when its job is done.
async fn done() -> TestServer {
    let server = furnished().await;
    server.set_clock("2026-07-10T16:00:00-03:00");
    server
}

fn of_the_job() -> NewUsage {
    NewUsage {
        torch: Some("T1".to_owned()),
        job: Some("R-118".to_owned()),
        ..NewUsage::default()
    }
}

/// Ten arc hours of the job and two electrodes are on record.
async fn log_some(server: &TestServer) {
    for (key, usage) in [
        (
            "arc",
            NewUsage {
                arc_minutes: Some(600),
                ..of_the_job()
            },
        ),
        (
            "took",
            NewUsage {
                what: Some("took".to_owned()),
                part: Some("WLa20-2.4".to_owned()),
                qty: Some(2),
                ..of_the_job()
            },
        ),
    ] {
        server
            .owner
            .record_usage(&usage, key)
            .await
            .expect("it is logged");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_logged_yet_is_logged_and_the_plan_is_held_against_it() {
    let server = done().await;
    let owner = &server.owner;
    log_some(&server).await;
    let before = server.on_hand("WLa20-2.4").await;
    let closing = NewClosing {
        arc_minutes: Some(38 * 60),
        used: used(&[("WLa20-2.4", 12), ("cup-7-gas-lens", 1)]),
        counts: vec![PartsCounted {
            part: "o-ring-large".to_owned(),
            counted: 1,
        }],
        ..NewClosing::default()
    };
    let told = owner
        .close_job("R-118", &closing, "close")
        .await
        .expect("closed");
    // The rest of the arc time, of the electrodes and of the cups, and the count.
    assert_eq!(told.recorded.len(), 4, "{told:?}");
    assert_eq!(server.on_hand("WLa20-2.4").await, before - 10);
    assert_eq!(server.on_hand("o-ring-large").await, 1);
    assert_eq!(told.planned.arc_minutes, Some(34 * 60));
    assert_eq!(told.took.arc_minutes, Some(38 * 60));
    let electrode = line(&told, "WLa20-2.4");
    assert_eq!((electrode.used, electrode.within), (12, false));
    assert_eq!((electrode.low, electrode.high), (Some(1), Some(9)));
    let near = |found: Option<f64>, expected: f64| {
        let found = found.expect("an expectation");
        assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
    };
    near(electrode.expected, 60.0 / 430.0 * 34.0);
    near(electrode.expected_for_what_it_took, 60.0 / 430.0 * 38.0);
    let cup = line(&told, "cup-7-gas-lens");
    assert_eq!((cup.used, cup.within), (1, true));
    let says = [
        "R-118 took 38 h of arc time, and 34 h were planned: 12 % more.",
        "Electrode WLa20 2.4 mm, 175 mm long: 12 used, 4.74 expected (1 to 9): more than the range. For what it took, \
         5.3 were to be expected.",
    ];
    for says in says {
        assert!(
            told.says.iter().any(|line| line == says),
            "{says}: {:?}",
            told.says
        );
    }
    // It is the same when it is asked for, but for what was logged then.
    let again = owner.get_job_closing("R-118").await.expect("the closing");
    assert_eq!(
        again,
        Closing {
            recorded: Vec::new(),
            ..told.clone()
        }
    );
    let repeated = owner.close_job("R-118", &closing, "close").await;
    assert_eq!(repeated.expect("the first answer"), told);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_closed_job_is_not_planned_and_frees_what_it_was_promised() {
    let server = done().await;
    let owner = &server.owner;
    let promise = NewAllocation {
        job: "R-118".to_owned(),
        part: "WLa20-2.4".to_owned(),
        quantity: 2,
        site: None,
        by: None,
        note: None,
    };
    owner
        .record_allocation(&promise, "promise")
        .await
        .expect("promised");
    let closing = NewClosing::default();
    owner
        .close_job("R-118", &closing, "close")
        .await
        .expect("closed");
    let promises = owner.list_allocations(&ListAllocations::default()).await;
    let promises = promises.expect("the promises").allocations;
    assert!(promises.iter().all(|it| it.quantity == 0), "{promises:?}");
    let needs = owner.get_job_needs("R-118", &GetNeeds::default()).await;
    let told = needs.expect_err("it is closed").to_string();
    assert!(told.contains("was closed on 10 Jul 2026"), "{told}");
    let twice = owner.close_job("R-118", &closing, "twice").await;
    let told = twice.expect_err("it is closed").to_string();
    assert!(told.contains("reopen it first"), "{told}");
    owner.reopen_job("R-118").await.expect("open again");
    // What is open again is planned, from an instant before its start.
    let planned = GetNeeds {
        now: Some("2026-06-15T08:00:00-03:00".to_owned()),
        ..GetNeeds::default()
    };
    owner.get_job_needs("R-118", &planned).await.expect("needs");
    let told = owner
        .get_job_closing("R-118")
        .await
        .expect_err("it is open");
    assert!(told.to_string().contains("is not closed"), "{told}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_closing_that_makes_no_sense_changes_nothing() {
    let server = done().await;
    let arc = NewUsage {
        arc_minutes: Some(600),
        ..of_the_job()
    };
    server
        .owner
        .record_usage(&arc, "arc")
        .await
        .expect("logged");
    let rows = server.rows().await;
    let cases = [
        (
            NewClosing {
                arc_minutes: Some(300),
                ..NewClosing::default()
            },
            "300 is less than the 600 minutes that are logged",
        ),
        (
            NewClosing {
                used: used(&[("no-such-part", 1)]),
                ..NewClosing::default()
            },
            "no-such-part",
        ),
        (
            NewClosing {
                used: used(&[("cup-7-gas-lens", 1), ("CUP-7-gas-lens", 2)]),
                ..NewClosing::default()
            },
            "is there twice",
        ),
        (
            NewClosing {
                used: used(&[("cup-7-gas-lens", -1)]),
                ..NewClosing::default()
            },
            "give 0 to 10000",
        ),
        (
            NewClosing {
                at: Some("2026-07-11T08:00:00-03:00".parse().expect("an instant")),
                ..NewClosing::default()
            },
            "is still to come",
        ),
    ];
    for (index, (closing, expected)) in cases.into_iter().enumerate() {
        let refused = server
            .owner
            .close_job("R-118", &closing, &format!("no-{index}"))
            .await;
        let told = refused.expect_err("it makes no sense").to_string();
        assert!(told.contains(expected), "{expected}: {told}");
    }
    assert_eq!(server.rows().await, rows);
}

fn course(code: &str) -> NewCourse {
    NewCourse {
        code: code.to_owned(),
        kit: "K-24".to_owned(),
        starts: "2026-09-12".parse().expect("a day"),
        heads: 12,
        days: Some(2),
        stations: 6,
        ..NewCourse::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_course_teaches_courses_and_not_the_shop() {
    let server = TestServer::at("2026-09-01T08:00:00-03:00").await;
    let owner = &server.owner;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 40).await;
    let kit = NewKit {
        code: "K-24".to_owned(),
        name: None,
        parts: vec![types::KitLine {
            part: "WLa20-2.4".to_owned(),
            quantity: 1,
            or: Vec::new(),
        }],
    };
    owner.create_kit(&kit).await.expect("a kit");
    owner
        .create_course(&course("first"))
        .await
        .expect("a course");
    server.set_clock("2026-09-14T08:00:00-03:00");
    let closing = NewClosing {
        student_days: Some(20),
        used: used(&[("WLa20-2.4", 18)]),
        ..NewClosing::default()
    };
    let told = owner
        .close_course("first", &closing, "close")
        .await
        .expect("closed");
    assert_eq!(told.group, "beginner");
    assert_eq!(server.on_hand("WLa20-2.4").await, 22);
    let says = "first took 20 student-days, and 24 were planned: 17 % less.";
    assert!(told.says.iter().any(|line| line == says), "{:?}", told.says);
    let needs = owner.get_course_needs("first", &GetNeeds::default()).await;
    let told = needs.expect_err("it is closed").to_string();
    assert!(
        told.contains("course first was closed on 14 Sep 2026"),
        "{told}"
    );
    // The next course learns from it: (2 + 18) / (3 + 20) a student-day, over 24.
    let second = NewCourse {
        starts: "2026-10-10".parse().expect("a day"),
        ..course("second")
    };
    owner.create_course(&second).await.expect("a course");
    let needs = owner.get_course_needs("second", &GetNeeds::default()).await;
    let expected = needs.expect("needs").needs.lines[0].expected;
    assert!((expected - 20.0 / 23.0 * 24.0).abs() < 1e-9, "{expected}");
    // The shop's own rate still stands on nothing.
    let query = GetForecasts {
        part: Some("WLa20-2.4".to_owned()),
        arc: Some("34h".to_owned()),
        ..GetForecasts::default()
    };
    let own = owner.get_forecasts(&query).await.expect("a forecast");
    assert_eq!(own.forecasts[0].rung.number, 7, "{own:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn work_that_is_over_before_its_start_is_not_held_against_itself() {
    let server = furnished().await;
    server.set_clock("2026-06-20T16:00:00-03:00");
    let closing = NewClosing {
        arc_minutes: Some(34 * 60),
        used: used(&[("WLa20-2.4", 12)]),
        ..NewClosing::default()
    };
    let told = server.owner.close_job("R-118", &closing, "close").await;
    let told = told.expect("closed");
    // The table of scenario S5: 4.7 expected, 9 enough at 95 %.
    let electrode = line(&told, "WLa20-2.4");
    assert_eq!((electrode.used, electrode.within), (12, false));
    let expected = electrode.expected.expect("expected");
    assert!((expected - 4.7).abs() < 0.05, "{expected}");
    assert_eq!(electrode.high, Some(9));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_measure_of_the_other_kind_of_work_is_refused() {
    let server = done().await;
    let closing = NewClosing {
        student_days: Some(3),
        ..NewClosing::default()
    };
    let told = server.owner.close_job("R-118", &closing, "close").await;
    let told = told.expect_err("a job has none").to_string();
    assert!(told.contains("not measured in student-days"), "{told}");
}
