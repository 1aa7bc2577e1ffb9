//! `changes`: one screen after two weeks of shifts.

use tigstock_tests::fortnight::{BACK, fortnight};

use crate::computer::Computer;

#[tokio::test(flavor = "multi_thread")]
async fn one_screen_tells_what_is_next_and_what_changed() {
    let server = fortnight().await;
    let computer = Computer::of(&server).at(BACK);
    let told = computer.run("changes").await;
    assert_eq!((told.code, &*told.err), (0, ""));
    let lines: Vec<&str> = told.out.lines().collect();
    assert!(lines[0].starts_with("Since Mon 1 Jun: 1 arrived, 2 used"));
    assert_eq!((lines[1], lines[2]), ("", "What next"));
    assert!(lines[3].starts_with("  Order 1 was due Tue 9 Jun: 10 WLa20-2.4."));
    let titles: Vec<&str> = lines
        .iter()
        .skip(3)
        .filter(|line| !line.is_empty() && !line.starts_with(' '))
        .copied()
        .collect();
    assert_eq!(
        titles,
        [
            "Arrived",
            "Used",
            "Ran low",
            "Orders changed",
            "Questions",
            "Counts"
        ]
    );
    assert!(lines.contains(&"  10 collet-2.4 from Quayhead, order 2, Wed 3 Jun."));
    assert!(lines.len() <= 30, "one screen: {}", lines.len());
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_is_a_row_a_line_for_a_spreadsheet() {
    let server = fortnight().await;
    let computer = Computer::of(&server).at(BACK);
    let told = computer
        .run("changes --since 2026-06-03 --format csv")
        .await;
    assert_eq!((told.code, &*told.err), (0, ""));
    let mut rows = told.out.lines();
    assert_eq!(
        rows.next(),
        Some("group,kind,subject,at,quantity,before,after,says,as_of")
    );
    let counts: Vec<&str> = rows.filter(|row| row.starts_with("counts,")).collect();
    assert_eq!(
        counts,
        [
            "counts,,collet-2.4,2026-06-05T13:00:00+00:00,-1,14,13,\"13 collet-2.4 counted Fri 5 Jun, the \
             book said 14 (-1).\",2026-06-15T11:00:00+00:00"
        ]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_time_that_cannot_be_read_is_refused_with_what_would_do() {
    let server = fortnight().await;
    let told = Computer::of(&server)
        .at(BACK)
        .run("changes --since soon")
        .await;
    assert_eq!(told.code, 65);
    assert!(told.err.contains("give 10d, 2w"), "{}", told.err);
}
