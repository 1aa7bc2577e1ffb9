//! Sheets that are pushed: every row of the table of row problems, each with its answer and what became of the stock.
//! Times are those of the Monday of scenario S5.

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;
use types::{ListCounts, PushTable, PushedSheet, SheetOfTorch};

const EVENING: &str = "2026-06-15T18:30:00-03:00";
const COUNTS: &str = "row_id,drawer,part,counted,counted_at,by";
const USAGE: &str = "row_id,when,torch,part,qty,arc,grinds,job,what";

async fn shop() -> TestServer {
    let server = furnished().await;
    server.set_clock(EVENING);
    server
}

async fn push(server: &TestServer, table: &str, text: &str, how: &PushTable) -> PushedSheet {
    let file = (text.as_bytes().to_vec(), "text/csv");
    let owner = &server.owner;
    let told = match table {
        "counts" => owner.push_counts_sheet(file, how).await,
        "usage" => owner.push_usage_sheet(file, how).await,
        _ => owner.push_receipts_sheet(file, how).await,
    };
    told.expect("it is judged")
}

/// What became of one row of a sheet of its own.
async fn one(server: &TestServer, table: &str, header: &str, row: &str) -> (String, String) {
    let text = format!("{header}\n{row}\n");
    let mut told = push(server, table, &text, &PushTable::default()).await;
    assert_eq!(told.rows.len(), 1, "{told:?}");
    let row = told.rows.remove(0);
    (row.result, row.what_to_do)
}

#[tokio::test(flavor = "multi_thread")]
async fn each_row_problem_of_counts_has_its_answer() {
    let server = shop().await;
    let at = "2026-06-15T18:00:00-03:00";
    for (row, result, words) in [
        (
            format!("a,,2032-03-01,3,{at},"),
            "refused",
            "This looks like the fraction 3/32 turned into a date by the spreadsheet. Write 3/32in or format the column as text.",
        ),
        (
            format!("b,,Mar-32,3,{at},"),
            "refused",
            "This looks like the fraction 3/32 turned into a date",
        ),
        (
            format!("c,,48274,3,{at},"),
            "refused",
            "turned into a date by the spreadsheet",
        ),
        (
            format!("d,,3-Feb,3,{at},"),
            "refused",
            "turned into a date by the spreadsheet",
        ),
        (
            format!("e,,collet-2.5,3,{at},"),
            "refused",
            "No 2.5 mm collet is set up. 2.5 is not 2.4.",
        ),
        (
            format!("f,,collet-2.4,ten,{at},"),
            "refused",
            "\"ten\" is not a number",
        ),
        (
            format!("g,,collet-2.4,\"2,4\",{at},"),
            "refused",
            "there are no parts of a piece",
        ),
        (
            format!("h,,collet-2.4,-1,{at},"),
            "refused",
            "A count cannot be negative.",
        ),
        (
            format!("i,,collet-2.4,10 pcs,{at},"),
            "in",
            "\"10 pcs\" was taken as 10",
        ),
        (
            "j,,WLa20-2.4,3,2026-06-15 18:00,".to_owned(),
            "in",
            "the time is that of the clock in America/Halifax",
        ),
    ] {
        let (told, what_to_do) = one(&server, "counts", COUNTS, &row).await;
        assert_eq!(told, result, "{row}: {what_to_do}");
        assert!(what_to_do.contains(words), "{row}: {what_to_do}");
    }
    assert_eq!(server.on_hand("collet-2.4").await, 10);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_older_than_a_newer_one_is_history() {
    let server = shop().await;
    let at = |hour: &str, counted: u8| {
        format!("{hour},,collet-2.4,{counted},2026-06-15T{hour}:00:00-03:00,")
    };
    one(&server, "counts", COUNTS, &at("18", 4)).await;
    let (result, _) = one(&server, "counts", COUNTS, &at("17", 9)).await;
    assert_eq!(result, "in");
    assert_eq!(server.on_hand("collet-2.4").await, 4);
}

#[tokio::test(flavor = "multi_thread")]
async fn each_row_problem_of_use_has_its_answer() {
    let server = shop().await;
    for (row, result, words) in [
        (
            "a,2026-06-15T17:00:00-03:00,T9,,,75m,,,",
            "refused",
            "No torch T9. Nearest: T",
        ),
        (
            "b,2026-06-15T17:00:00-03:00,T1,,,75,,,",
            "refused",
            "has no unit",
        ),
        ("c,2026-06-15T17:00:00-03:00,T1,,,\"1,5h\",,,", "in", ""),
        (
            "d,2026-06-15T17:00:00-03:00,T1,collet-2.4,30,,,,took",
            "in",
            "The book is below zero: it heads the count list.",
        ),
    ] {
        let (told, what_to_do) = one(&server, "usage", USAGE, row).await;
        assert_eq!(told, result, "{row}: {what_to_do}");
        assert!(what_to_do.contains(words), "{row}: {what_to_do}");
    }
    let first = "d,2026-06-15T17:00:00-03:00,T1,collet-2.4,30,,,,took";
    let before = server.on_hand("collet-2.4").await;
    assert_eq!(one(&server, "usage", USAGE, first).await.0, "already in");
    let other = first.replace(",30,", ",31,");
    let (told, why) = one(&server, "usage", USAGE, &other).await;
    assert_eq!(told, "refused");
    assert!(
        why.contains("row_id d came before with other content"),
        "{why}"
    );
    assert_eq!(server.on_hand("collet-2.4").await, before);
}

#[tokio::test(flavor = "multi_thread")]
async fn good_rows_go_in_and_a_trial_or_all_or_none_changes_nothing() {
    let server = shop().await;
    let used = async || {
        // The sheet has all of it, whatever a page holds.
        let sheet = server.owner.get_usage_sheet(&SheetOfTorch::default()).await;
        sheet.expect("a sheet").lines().count()
    };
    let before = used().await;
    let text = format!(
        "{USAGE}\na,2026-06-15T17:00:00-03:00,T1,,,75m,,,\nb,2026-06-15T17:10:00-03:00,T9,,,75m,,,\n"
    );
    let only_try = PushTable {
        only_try: true,
        ..PushTable::default()
    };
    let all_or_none = PushTable {
        all_or_none: true,
        ..PushTable::default()
    };
    let told = push(&server, "usage", &text, &only_try).await;
    assert_eq!(
        told.says,
        "2 rows: 1 in, 0 already in, 1 need you. Only tried: nothing has changed."
    );
    assert_eq!(used().await, before);
    let told = push(&server, "usage", &text, &all_or_none).await;
    assert_eq!(
        told.says,
        "2 rows: 0 in, 0 already in, 1 need you. All or none: nothing has changed."
    );
    assert_eq!(told.rows[0].result, "not in");
    assert_eq!(used().await, before);
    let told = push(&server, "usage", &text, &PushTable::default()).await;
    assert_eq!(told.says, "2 rows: 1 in, 0 already in, 1 need you.");
    assert_eq!(used().await, before + 1);
    let good = text.replace("T9", "T1");
    let told = push(&server, "usage", &good, &all_or_none).await;
    assert_eq!(told.says, "2 rows: 1 in, 1 already in, 0 need you.");
    assert_eq!(used().await, before + 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_comes_back_under_its_sum_and_can_be_sent_again() {
    let server = shop().await;
    let text = format!("{COUNTS}\nx,,collet-2.4,3,2026-06-15T18:00:00-03:00,helper\n");
    let send = async |body: String| {
        let ask = server.ask("POST", "/v1/sheets/counts");
        let heard = ask.text("text/csv", body).send().await;
        assert_eq!(heard.status, 200, "{}", heard.text());
        heard.text()
    };
    let back = send(text).await;
    let mut lines = back.lines();
    let sum = "1 rows: 1 in, 0 already in, 0 need you.";
    assert_eq!(lines.next(), Some(format!("\"{sum}\"").as_str()));
    assert_eq!(
        lines.next(),
        Some("row_id,drawer,part,counted,counted_at,by,result,what to do")
    );
    let again = send(back).await;
    assert!(again.contains("0 in, 1 already in"), "{again}");
    let counts = server.owner.list_counts(&ListCounts::default()).await;
    let of_collets = counts.expect("a page").counts;
    let of_collets = of_collets
        .iter()
        .filter(|count| count.part == "collet-2.4" && count.counted == 3);
    assert_eq!(of_collets.count(), 1);
}
