//! `plan` of a course: scenario S11 by command line.

use tigstock_tests::TestServer;
use tigstock_tests::school::{COURSE, school};

use crate::computer::Computer;

#[tokio::test(flavor = "multi_thread")]
async fn a_course_is_planned_by_its_code() {
    let server = school().await;
    let told = Computer::of(&server).run("plan course-0912").await;
    assert_eq!(told.code, 1, "{told:?}");
    for words in [
        "Electrode WLa20 2.4 mm",
        "2 packs of 10",
        "84.00 CAD",
        "Chance nobody stops for a part: 5 % now",
        "Expected use is worth 142.30 CAD, 5.93 CAD a student-day.",
        "Barred here: thoriated.",
        "Students break parts together",
    ] {
        assert!(told.out.contains(words), "{words}: {}", told.out);
    }
    assert!(told.err.contains("UV burns"), "{}", told.err);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_cards_of_the_stations_are_printed() {
    let server = school().await;
    let told = Computer::of(&server)
        .run("plan course-0912 --stations")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(told.out.matches("Rack: 4 ground electrodes").count(), 6);
    assert!(told.out.contains("course-0912 station 6"), "{}", told.out);
    assert!(told.err.contains("UV burns"), "{}", told.err);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_course_is_set_up_and_changed_from_the_command_line() {
    let server = school().await;
    let line = "plan course-1010 --heads 8 --days 2 --station-count 4 --kit K-24 \
                --start 2026-10-10 --exercise beads --exercise fillets";
    let told = Computer::of(&server).run(line).await;
    assert!(
        told.err.starts_with("Course course-1010 is set up.\n"),
        "{told:?}"
    );
    let made = get(&server, "course-1010").await;
    assert_eq!((made.heads, made.student_days, made.stations), (8, 16, 4));
    assert_eq!(made.exercises, ["beads", "fillets"]);
    assert_eq!(made.ends, Some("2026-10-11".parse().expect("a day")));
    let told = Computer::of(&server)
        .run("plan course-1010 --start 2026-10-17 --target 0.9")
        .await;
    assert!(
        told.err.starts_with("Course course-1010 is changed.\n"),
        "{told:?}"
    );
    let moved = get(&server, "course-1010").await;
    assert_eq!(moved.ends, Some("2026-10-18".parse().expect("a day")));
    assert_eq!(moved.target, Some(0.9));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_only_a_job_has_is_refused_for_a_course() {
    let server = school().await;
    let told = Computer::of(&server)
        .run("plan course-0912 --arc 34h")
        .await;
    assert_eq!(told.code, 64, "{told:?}");
    assert!(told.err.contains("--heads"), "{}", told.err);
    let before = get(&server, COURSE).await;
    assert_eq!(before.version, 1);
    let told = Computer::of(&server)
        .run("plan course-1010 --heads 8 --kit K-24")
        .await;
    assert_eq!(told.code, 64, "{told:?}");
    assert!(told.err.contains("--start"), "{}", told.err);
}

async fn get(server: &TestServer, code: &str) -> types::Course {
    server.owner.get_course(code).await.expect("the course")
}

#[tokio::test(flavor = "multi_thread")]
async fn the_order_of_a_course_is_drafted_as_that_of_a_job_is() {
    let server = school().await;
    let told = Computer::of(&server).run("order course-0912 --draft").await;
    assert_eq!((told.code, &*told.err), (0, ""), "{}", told.out);
    for words in ["5 % now, 95 %", "course-0912", "back-cap-long"] {
        assert!(told.out.contains(words), "{words}: {}", told.out);
    }
    let orders = server
        .owner
        .list_orders(&types::page::Page::default())
        .await;
    // The proposal of scenario S11.
    let orders = orders.expect("orders").orders;
    assert_eq!((orders.len(), orders[0].cost_minor), (1, 17_410));
    let none = Computer::of(&server).run("order R-404 --draft").await;
    assert!(none.err.contains("no job R-404"), "{}", none.err);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_of_courses_is_tried_and_applied() {
    let server = school().await;
    let computer = Computer::of(&server);
    let file = computer.state().with_file_name("courses.csv");
    let rows = "date,heads,stations,kit,site\r\n2026-10-03,10,5,K-24,tarnbridge\r\n2026-10-10,10,5,K-9,\r\n";
    std::fs::write(&file, rows).expect("it is written");
    let line = format!("import {} --try", file.display());
    let told = computer.run(&line).await;
    assert_eq!(told.code, 65, "{told:?}");
    for words in [
        "2 rows: 1 in, 0 already in, 1 need you. Only tried: nothing has changed.",
        "set up as course-1003",
        "no kit K-9",
    ] {
        assert!(told.out.contains(words), "{words}: {}", told.out);
    }
    assert!(server.owner.get_course("course-1003").await.is_err());
    let line = format!("import {} --apply --format csv", file.display());
    let told = computer.run(&line).await;
    let mut lines = told.out.lines();
    assert_eq!(
        lines.next(),
        Some("date,heads,stations,kit,site,result,what to do")
    );
    assert_eq!(
        lines.next(),
        Some("2026-10-03,10,5,K-24,tarnbridge,in,set up as course-1003")
    );
    server
        .owner
        .get_course("course-1003")
        .await
        .expect("it is set up");
}
