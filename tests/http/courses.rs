//! Scenario S11: what a weekend of twelve beginners needs, what it costs, what is barred, what lies
//! ready at each station, and that it never raises the shop's own wear rate. The figures are those of
//! the scenario, worked out outside this project.

use tigstock_tests::TestServer;
use tigstock_tests::school::{COURSE, course, school};
use types::{CourseNeeds, GetForecasts, GetNeeds, NewCourse};

async fn needs(server: &TestServer) -> CourseNeeds {
    let query = GetNeeds::default();
    let needs = server.owner.get_course_needs(COURSE, &query).await;
    needs.expect("the needs")
}

/// Sets the course up anew, with some of it changed.
async fn change(server: &TestServer, make: impl FnOnce(&mut NewCourse)) {
    let found = server.owner.get_course(COURSE).await.expect("the course");
    let version = found.version;
    let mut changed = found.into_new();
    make(&mut changed);
    let replaced = server.owner.replace_course(COURSE, &changed, version).await;
    replaced.expect("it is replaced");
}

#[tokio::test(flavor = "multi_thread")]
async fn every_part_has_the_columns_of_the_scenario() {
    let server = school().await;
    let needs = needs(&server).await;
    assert_eq!(needs.student_days, 24);
    let told = [
        ("WLa20-2.4", 20.3, 30, 14),
        ("cup-7", 9.2, 16, 9),
        ("collet-2.4", 3.4, 8, 6),
        ("body-2.4", 1.5, 5, 4),
        ("o-ring-large", 2.8, 7, 3),
        ("back-cap-long", 0.9, 3, 2),
    ];
    assert_eq!(needs.needs.lines.len(), told.len());
    for (line, (part, expected, need, available)) in needs.needs.lines.iter().zip(told) {
        assert_eq!(line.part, part);
        assert!(
            (line.expected - expected).abs() < 0.05,
            "{part}: {}",
            line.expected
        );
        assert_eq!((line.need, line.available), (need, available), "{part}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_chance_that_nobody_stops_is_5_per_cent_now() {
    let server = school().await;
    let needs = needs(&server).await;
    assert!((needs.needs.chance_now - 0.0459).abs() < 5e-5, "{needs:?}");
    assert!(
        needs.needs.says[0].starts_with("Chance nobody stops for a part: 5 % now"),
        "{:?}",
        needs.needs.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn by_part_it_is_169_30_and_for_the_whole_course_174_10_with_two_back_caps() {
    let server = school().await;
    let needs = needs(&server).await.needs;
    let each = needs.each_alone.as_ref().expect("offers in time");
    assert_eq!((each.cost_minor, &*each.currency), (16_930, "CAD"));
    assert!((each.chance - 0.9282).abs() < 5e-5, "{}", each.chance);
    assert_eq!((needs.cost_minor, needs.gap_minor), (Some(17_410), 0));
    assert!((needs.chance_after - 0.9526).abs() < 5e-5, "{needs:?}");
    assert!(needs.target_met);
    let told = [
        ("WLa20-2.4", 2, 10, 8_400, 34),
        ("cup-7", 1, 10, 3_800, 19),
        ("collet-2.4", 1, 5, 1_250, 11),
        ("body-2.4", 1, 5, 2_400, 9),
        ("o-ring-large", 1, 10, 600, 13),
        // One by part; the second brings the whole course to its target.
        ("back-cap-long", 2, 1, 960, 4),
    ];
    for (line, (part, packs, size, cost, after)) in needs.lines.iter().zip(told) {
        assert_eq!(line.part, part);
        let order = line.order.as_ref().expect("an order");
        assert_eq!(
            (order.packs, order.pack_size, order.cost_minor, line.after),
            (packs, size, cost, after),
            "{part}"
        );
    }
    assert!(
        needs.says[0].starts_with("Chance nobody stops for a part: 5 % now, 95 % after this order"),
        "{:?}",
        needs.says
    );
    let said = needs.says.join("\n");
    assert!(
        said.contains("169.30 CAD") && said.contains("92.8 %") && said.contains("95.3 %"),
        "{said}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_expected_use_is_worth_142_30_or_5_93_a_student_day() {
    let server = school().await;
    let needs = needs(&server).await;
    assert_eq!(needs.worth_minor, Some(14_230));
    assert_eq!(needs.worth_per_student_day_minor, Some(593));
    let told = "Expected use is worth 142.30 CAD, 5.93 CAD a student-day.";
    assert!(
        needs.needs.says.iter().any(|line| line == told),
        "{:?}",
        needs.needs.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_site_bars_is_said() {
    let server = school().await;
    let needs = needs(&server).await;
    assert_eq!(needs.barred, ["thoriated"]);
    assert!(
        needs
            .needs
            .says
            .contains(&"Barred here: thoriated.".to_owned()),
        "{:?}",
        needs.needs.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_course_rate_is_kept_apart_from_the_own_rate() {
    let server = school().await;
    let needs = needs(&server).await;
    // (2 + 31) / (3 + 36) and (2 + 58) / (20 + 410).
    let electrode = &needs.parts[0];
    assert!((electrode.per_student_day - 33.0 / 39.0).abs() < 1e-12);
    let own = electrode.own_per_arc_hour.expect("arc hours are logged");
    assert!((own - 60.0 / 430.0).abs() < 1e-12, "{own}");
    let told = "Course use is about 0.85 electrodes per student-day; it is kept apart from your own \
                0.14 per arc hour.";
    assert!(
        needs.needs.says.iter().any(|line| line == told),
        "{:?}",
        needs.needs.says
    );
    // Nothing else was used under the arc.
    assert_eq!(needs.parts[1].own_per_arc_hour, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn course_use_never_raises_the_own_wear_rate() {
    let server = school().await;
    let own = async || {
        let query = GetForecasts {
            part: Some("WLa20-2.4".to_owned()),
            arc: Some("1h".to_owned()),
            ..GetForecasts::default()
        };
        let page = server
            .owner
            .get_forecasts(&query)
            .await
            .expect("a forecast");
        page.forecasts[0].clone()
    };
    let before = own().await;
    let more = types::NewUsage {
        part: Some("WLa20-2.4".to_owned()),
        what: Some("took".to_owned()),
        qty: Some(40),
        student_days: Some(24),
        group: Some("beginner".to_owned()),
        site: Some("tarnbridge".to_owned()),
        ..types::NewUsage::default()
    };
    let taken = server.owner.record_usage(&more, "a-clumsy-course").await;
    taken.expect("it is recorded");
    assert_eq!(own().await, before);
    let needs = needs(&server).await;
    let (part, own) = (&needs.parts[0], 60.0 / 430.0);
    assert!((part.own_per_arc_hour.expect("own") - own).abs() < 1e-12);
    assert!((part.per_student_day - 73.0 / 63.0).abs() < 1e-12);
}

#[tokio::test(flavor = "multi_thread")]
async fn use_at_a_course_is_of_its_group_unless_told() {
    let server = school().await;
    for (key, make) in [
        (
            "by-days",
            types::NewUsage {
                student_days: Some(24),
                ..types::NewUsage::default()
            },
        ),
        (
            "by-course",
            types::NewUsage {
                course: Some(COURSE.to_owned()),
                ..types::NewUsage::default()
            },
        ),
    ] {
        let used = types::NewUsage {
            part: Some("WLa20-2.4".to_owned()),
            what: Some("took".to_owned()),
            qty: Some(4),
            site: Some("tarnbridge".to_owned()),
            ..make
        };
        let used = server.owner.record_usage(&used, key).await;
        used.expect("it is recorded");
    }
    let needs = needs(&server).await;
    let part = &needs.parts[0];
    assert!((part.per_student_day - 41.0 / 63.0).abs() < 1e-12);
    assert!((part.own_per_arc_hour.expect("own") - 60.0 / 430.0).abs() < 1e-12);
    let own = types::NewUsage {
        part: Some("WLa20-2.4".to_owned()),
        student_days: Some(24),
        group: Some("own".to_owned()),
        ..types::NewUsage::default()
    };
    let refused = server.owner.record_usage(&own, "own").await;
    let refused = refused.expect_err("it is of a course").to_string();
    assert!(refused.contains("give beginner"), "{refused}");
}

#[tokio::test(flavor = "multi_thread")]
async fn use_without_student_days_says_what_to_log() {
    let server = school().await;
    change(&server, |course| course.group = Some("visitor".to_owned())).await;
    let broke = types::NewUsage {
        part: Some("cup-7".to_owned()),
        what: Some("broke".to_owned()),
        group: Some("visitor".to_owned()),
        site: Some("tarnbridge".to_owned()),
        ..types::NewUsage::default()
    };
    let broke = server.owner.record_usage(&broke, "broke").await;
    broke.expect("it is recorded");
    let needs = needs(&server).await.needs;
    let [cannot] = &needs.cannot_tell[..] else {
        panic!("the cup alone: {:?}", needs.cannot_tell)
    };
    assert_eq!(cannot.part, "cup-7");
    assert!(
        cannot.why.contains("log those of past courses"),
        "{}",
        cannot.why
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn it_is_said_that_students_break_parts_together() {
    let server = school().await;
    let hopeful = needs(&server).await;
    assert!(
        hopeful.needs.assumes[0].contains("Students break parts together")
            && hopeful.needs.assumes[0].contains("a little hopeful"),
        "{:?}",
        hopeful.needs.assumes
    );
    change(&server, |course| course.clumsiness = Some(0.3)).await;
    let honest = needs(&server).await;
    assert!(
        !honest.needs.assumes[0].contains("hopeful") && honest.needs.assumes[0].contains("30 %"),
        "{:?}",
        honest.needs.assumes
    );
    // A chance near certain falls, since what is needed on a clumsy day is needed of all parts.
    assert!(honest.needs.lines[0].need > hopeful.needs.lines[0].need);
}

#[tokio::test(flavor = "multi_thread")]
async fn ground_electrodes_lie_ready_at_each_station() {
    let server = school().await;
    let needs = needs(&server).await;
    let rack = needs.rack.expect("there is an electrode");
    // Gamma(4, 1) over two students and a sixth of a day: P(N <= 4) = 0.9727, P(N <= 3) = 0.9294.
    assert_eq!((rack.each, rack.all, rack.sessions), (4, 24, 12));
    assert!((rack.chance - 0.9727).abs() < 5e-5);
    assert_eq!(rack.grinds_from, "starting assumption");
    let said = needs.needs.says.iter().find(|line| line.contains("rack"));
    let said = said.expect("it is said");
    assert!(
        said.contains("grind 4 electrodes for the rack of each of 6 stations")
            && said.contains("from a starting assumption"),
        "{said}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn racks_learn_from_the_grinds_of_past_courses_or_take_what_is_stated() {
    let server = school().await;
    let mut station = tigstock_tests::builders::torch("S1");
    station.site = Some("tarnbridge".to_owned());
    let made = server.owner.create_torch(&station).await.expect("a torch");
    server.fit("S1", &["WLa20-2.4"], made.version).await;
    let grinds = types::NewUsage {
        torch: Some("S1".to_owned()),
        grinds: Some(288),
        group: Some("beginner".to_owned()),
        ..types::NewUsage::default()
    };
    let ground = server.owner.record_usage(&grinds, "grinds").await;
    ground.expect("it is recorded");
    let rack = needs(&server).await.rack.expect("a rack");
    assert_eq!(rack.grinds_from, "your record");
    // (4 + 288) / (1 + 36).
    assert!((rack.grinds_per_student_day - 292.0 / 37.0).abs() < 1e-12);
    change(&server, |course| course.grinds_per_student_day = Some(2.0)).await;
    let rack = needs(&server).await.rack.expect("a rack");
    assert_eq!(rack.grinds_from, "as stated");
    assert!((rack.grinds_per_student_day - 2.0).abs() < 1e-12);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_course_plan_has_its_cautions() {
    let server = school().await;
    let needs = needs(&server).await;
    let all = needs.needs.cautions.join("\n");
    for word in ["UV burns", "dust extraction", "cups and collets stay hot"] {
        assert!(all.contains(word), "{word}: {all}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn each_station_has_a_card() {
    let server = school().await;
    let sheet = server.owner.get_course_stations(COURSE).await;
    let sheet = sheet.expect("the cards");
    assert_eq!(sheet.stations.len(), 6);
    let card = &sheet.stations[2];
    assert_eq!(
        (card.station, card.students, card.rack, &*card.kit),
        (3, 2, 4, "K-24")
    );
    assert_eq!(card.label, "course-0912 station 3");
    assert_eq!(card.parts.len(), 6);
    let text = card.lines.join("\n");
    for line in [
        "Station 3 of 6: TIG for beginners, Sat 12 Sep to Sun 13 Sep 2026",
        "1 x Cup no. 7, standard seat",
        "Exercise: fillet on stainless",
        "Rack: 4 ground electrodes",
    ] {
        assert!(text.contains(line), "{line}: {text}");
    }
    assert!(
        sheet.cautions[0].contains("UV burns"),
        "{:?}",
        sheet.cautions
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn cards_are_printed_on_the_morning_too_but_nothing_is_planned_any_more() {
    let server = school().await;
    server.set_clock("2026-09-13T07:30:00-03:00");
    let sheet = server.owner.get_course_stations(COURSE).await;
    assert_eq!(sheet.expect("the cards").stations.len(), 6);
    let query = GetNeeds::default();
    let late = server.owner.get_course_needs(COURSE, &query).await;
    let late = late.expect_err("it has started").to_string();
    assert!(late.contains("started Sat 12 Sep"), "{late}");
}

#[tokio::test(flavor = "multi_thread")]
async fn students_that_do_not_divide_evenly_fill_the_first_stations() {
    let server = school().await;
    change(&server, |course| course.heads = 14).await;
    let sheet = server.owner.get_course_stations(COURSE).await;
    let heads: Vec<i64> = sheet
        .expect("the cards")
        .stations
        .iter()
        .map(|card| card.students)
        .collect();
    assert_eq!(heads, [3, 3, 2, 2, 2, 2]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_site_bars_stays_out_of_the_kit_and_the_cards() {
    let server = school().await;
    let mut thoriated = tigstock_tests::builders::electrode("WTh20-2.4", "2.4 mm");
    thoriated.class = Some("WTh20".to_owned());
    server.part(thoriated).await;
    let kit = server.owner.get_kit("K-24").await.expect("the kit");
    let version = kit.version;
    let mut kit = kit.into_new();
    kit.parts[0].part = "WTh20-2.4".to_owned();
    let replaced = server.owner.replace_kit("K-24", &kit, version).await;
    replaced.expect("it is replaced");
    let needs = needs(&server).await;
    let line = &needs.needs.lines[0];
    let because = line.held_because.as_deref().expect("it is barred");
    assert!(because.contains("not permitted at Tarnbridge"), "{because}");
    assert_eq!(line.order, None);
    let sheet = server.owner.get_course_stations(COURSE).await;
    let card = &sheet.expect("the cards").stations[0];
    assert!(
        card.lines.iter().any(|line| line.contains("leave it out")),
        "{:?}",
        card.lines
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_code_names_a_job_or_a_course() {
    let server = school().await;
    let job = types::NewJob {
        code: COURSE.to_uppercase(),
        kit: Some("K-24".to_owned()),
        arc_minutes: Some(60),
        start: "2026-09-01".parse().expect("a day"),
        ..types::NewJob::default()
    };
    let refused = server
        .owner
        .create_job(&job)
        .await
        .expect_err("it is taken");
    assert!(
        refused.to_string().contains("code of a course"),
        "{refused}"
    );
    let mut job = job;
    job.code = "R-140".to_owned();
    server.owner.create_job(&job).await.expect("a job");
    let same = NewCourse {
        code: "r-140".to_owned(),
        ..course()
    };
    let refused = server.owner.create_course(&same).await;
    let refused = refused.expect_err("it is taken").to_string();
    assert!(refused.contains("code of a job"), "{refused}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_course_is_read_replaced_listed_and_removed() {
    let server = school().await;
    let found = server.owner.get_course(COURSE).await.expect("the course");
    assert_eq!(
        (found.days, found.student_days, found.version),
        (Some(2), 24, 1)
    );
    assert_eq!(found.group.as_deref(), Some("beginner"));
    assert_eq!(found.exercises, ["beads on steel", "fillet on stainless"]);
    change(&server, |course| {
        course.exercises = vec!["outside corner".to_owned()];
        course.left_out = vec!["body-2.4".to_owned()];
    })
    .await;
    let page = server.owner.list_courses(&types::Page::default()).await;
    let [listed] = &page.expect("a page").courses[..] else {
        panic!("one course")
    };
    assert_eq!(
        (listed.version, &*listed.exercises[0]),
        (2, "outside corner")
    );
    let needs = needs(&server).await;
    assert_eq!(needs.needs.left_out, ["body-2.4"]);
    assert_eq!(needs.needs.lines.len(), 5);
    let stale = server.owner.delete_course(COURSE, 1).await;
    stale.expect_err("it was edited");
    server
        .owner
        .delete_course(COURSE, 2)
        .await
        .expect("removed");
    server
        .owner
        .get_course(COURSE)
        .await
        .expect_err("it is gone");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_sheet_has_the_figures_of_the_answer() {
    let server = school().await;
    let needs = needs(&server).await;
    let sheet = server
        .owner
        .get_course_needs_sheet(COURSE, &GetNeeds::default())
        .await
        .expect("the sheet");
    let mut lines = sheet.split("\r\n");
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    assert_eq!(header.first(), Some(&"course"));
    assert_eq!(header.last(), Some(&"as_of"));
    for (line, part) in needs.needs.lines.iter().zip(&needs.parts) {
        let row = lines.next().expect("a row a part");
        assert!(
            row.starts_with(&format!("course-0912,{},", line.part)),
            "{row}"
        );
        let worth = part.worth_minor.expect("a price");
        assert!(row.contains(&format!(",{worth},")), "{row}");
    }
    assert_eq!(lines.next(), Some(""));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_stands_on_a_starting_assumption_alone_is_named() {
    let server = school().await;
    let words = "On a starting assumption alone";
    let known = needs(&server).await.needs.assumes;
    assert!(!known.iter().any(|it| it.contains(words)), "{known:?}");
    // Of advanced students nothing is on record.
    change(&server, |course| course.group = Some("visitor".to_owned())).await;
    let told = needs(&server).await.needs.assumes;
    let told = told
        .iter()
        .find(|it| it.contains(words))
        .expect("it is said");
    assert!(told.contains("WLa20-2.4"), "{told}");
}
