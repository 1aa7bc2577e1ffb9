//! A sheet of courses is pushed: each row is judged alone, the same sheet comes back, and pushing it again
//! does nothing.

use tigstock_tests::TestServer;
use tigstock_tests::school::school;
use types::page::Page;
use types::{NewCourse, NewJob, ProblemKind, PushSheet, PushedSheet, SheetTable};

const SHEET: &str = "\
date,heads,days,stations,exercises,kit,site,note
2026-10-03,10,2,5,beads on steel; fillet on stainless,K-24,tarnbridge,bring rods
2026-10-10,ten,2,5,,K-24,tarnbridge,
2026-10-17,8,1,4,,K-9,tarnbridge,
";

async fn pushed(server: &TestServer, sheet: &str, only_try: bool) -> PushedSheet {
    let how = PushSheet {
        only_try,
        ..PushSheet::default()
    };
    let file = (sheet.as_bytes().to_vec(), "text/csv");
    let told = server.owner.push_sheet(SheetTable::Courses, file, &how);
    told.await.expect("it is judged")
}

fn results(told: &PushedSheet) -> Vec<(&str, &str)> {
    let rows = told.rows.iter();
    rows.map(|row| (&*row.result, &*row.what_to_do)).collect()
}

async fn codes(server: &TestServer) -> Vec<String> {
    let courses = server.owner.list_courses(&Page::default()).await;
    let courses = courses.expect("courses").courses;
    courses.into_iter().map(|it| it.code).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_right_goes_in_and_what_is_not_comes_back_with_the_reason() {
    let server = school().await;
    let told = pushed(&server, SHEET, false).await;
    assert_eq!(
        told.says,
        "3 rows: 1 in, 0 already in, 2 need you. Not looked at: note."
    );
    assert_eq!(
        results(&told),
        [
            ("in", "set up as course-1003"),
            (
                "refused",
                "heads: \"ten\" is not a number; write it in digits, such as 10"
            ),
            ("refused", told.rows[2].what_to_do.as_str()),
        ]
    );
    assert!(
        told.rows[2].what_to_do.contains("kit: there is no kit K-9"),
        "{:?}",
        told.rows[2]
    );
    assert_eq!((told.rows[0].line, told.rows[2].line), (2, 4));
    let course = server.owner.get_course("course-1003").await;
    let NewCourse {
        heads,
        days,
        stations,
        exercises,
        ..
    } = course.expect("it is set up").into_new();
    assert_eq!((heads, days, stations), (10, Some(2), 5));
    assert_eq!(exercises, ["beads on steel", "fillet on stainless"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_that_comes_again_changes_nothing() {
    let server = school().await;
    pushed(&server, SHEET, false).await;
    let before = codes(&server).await;
    let told = pushed(&server, SHEET, false).await;
    assert_eq!(
        told.says,
        "3 rows: 0 in, 1 already in, 2 need you. Not looked at: note."
    );
    assert_eq!(codes(&server).await, before);
    // The same course with other heads is another statement, and both are shown.
    let other = SHEET.replace("2026-10-03,10", "2026-10-03,11");
    let told = pushed(&server, &other, false).await;
    assert!(
        told.rows[0].what_to_do.contains("heads 10, here 11"),
        "{:?}",
        told.rows[0]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_only_tried_says_the_same_and_changes_nothing() {
    let server = school().await;
    let before = codes(&server).await;
    let told = pushed(&server, SHEET, true).await;
    assert_eq!(
        told.says,
        "3 rows: 1 in, 0 already in, 2 need you. Only tried: nothing has changed. Not looked at: note."
    );
    assert_eq!(codes(&server).await, before);
    assert!(told.only_tried);
}

#[tokio::test(flavor = "multi_thread")]
async fn two_rows_of_one_day_are_not_one_course() {
    let server = school().await;
    let sheet = "date,heads,stations,kit,code\n\
                 2026-10-03,10,5,K-24,\n\
                 2026-10-03,6,5,K-24,\n\
                 2026-10-03,6,5,K-24,evening\n";
    let told = pushed(&server, sheet, false).await;
    assert_eq!(told.says, "3 rows: 2 in, 0 already in, 1 need you.");
    assert!(
        told.rows[1]
            .what_to_do
            .contains("give this row another code"),
        "{:?}",
        told.rows[1]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_row_may_not_take_the_code_of_a_job() {
    let server = school().await;
    let job = NewJob {
        code: "R-1".to_owned(),
        torch: Some("T1".to_owned()),
        weeks: Some(1.0),
        start: "2026-10-01".parse().expect("a day"),
        ..NewJob::default()
    };
    server.owner.create_job(&job).await.expect("a job");
    let sheet = "date;heads;stations;kit;code\n2026-10-03;10;5;K-24;R-1\n";
    let told = pushed(&server, sheet, false).await;
    assert_eq!(told.says, "1 rows: 0 in, 0 already in, 1 need you.");
    assert!(told.rows[0].what_to_do.contains("the code of a job"));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_answer_is_the_same_sheet_with_two_columns_more() {
    let server = school().await;
    let ask = server.ask("POST", "/v1/sheets/courses");
    let heard = ask.text("text/csv", SHEET).send().await;
    assert_eq!(heard.status, 200, "{}", heard.text());
    assert!(heard.header("Content-Type").starts_with("text/csv"));
    let text = heard.text();
    let mut lines = text.lines().skip(1);
    assert_eq!(
        lines.next(),
        Some("date,heads,days,stations,exercises,kit,site,note,result,what to do")
    );
    assert_eq!(
        lines.next(),
        Some(
            "2026-10-03,10,2,5,beads on steel; fillet on stainless,K-24,tarnbridge,bring rods,in,set up as \
             course-1003"
        )
    );
    // It may be mended and sent again as it came.
    let mended = text.replace("ten", "10").replace("K-9", "K-24");
    let told = pushed(&server, &mended, false).await;
    assert_eq!(
        told.says,
        "3 rows: 2 in, 1 already in, 0 need you. Not looked at: note."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_that_cannot_be_taken_as_a_whole_is_a_problem() {
    let server = school().await;
    let how = PushSheet::default();
    let sheet = "date,heads,kit\n2026-10-03,10,K-24\n";
    let file = (sheet.as_bytes().to_vec(), "text/csv");
    let refused = server
        .owner
        .push_sheet(SheetTable::Courses, file, &how)
        .await;
    let refused = refused.expect_err("a column is missing");
    assert!(refused.is(ProblemKind::Invalid), "{refused:?}");
    let told = refused.to_string();
    for words in ["\"stations\" is missing", "date,heads,kit"] {
        assert!(told.contains(words), "{told}");
    }
    let ask = server.ask("POST", "/v1/sheets/courses");
    let heard = ask.json(&serde_json::json!({})).send().await;
    heard.problem(ProblemKind::UnsupportedMediaType);
}
