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
async fn orders_of_a_course_are_not_drafted_and_it_is_said_what_to_do() {
    let server = school().await;
    let told = Computer::of(&server).run("order course-0912 --draft").await;
    assert_eq!(told.code, 64, "{}", told.err);
    assert!(
        told.err
            .contains("course-0912 is a course, and orders are drafted for jobs only"),
        "{}",
        told.err
    );
}
