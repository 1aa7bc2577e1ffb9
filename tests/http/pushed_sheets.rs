//! Sheets that are pushed: every row of the table of row problems, each with its answer and what became of the stock.
//! Times are those of the Monday of scenario S5.

use calamine::Reader;
use client::SheetName;
use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;
use types::{ListCounts, Page, PushSheet, PushedSheet, SheetForm, SheetOfTorch, SheetTable};

const EVENING: &str = "2026-06-15T18:30:00-03:00";
const COUNTS: &str = "row_id,drawer,part,counted,counted_at,by";
const USAGE: &str = "row_id,when,torch,part,qty,arc,grinds,job,what";

async fn shop() -> TestServer {
    let server = furnished().await;
    server.set_clock(EVENING);
    server
}

async fn push(server: &TestServer, table: SheetTable, text: &str, how: &PushSheet) -> PushedSheet {
    let file = (text.as_bytes().to_vec(), "text/csv");
    let told = server.owner.push_sheet(table, file, how).await;
    told.expect("it is judged")
}

/// What became of one row of a sheet of its own.
async fn one(server: &TestServer, table: SheetTable, header: &str, row: &str) -> (String, String) {
    let text = format!("{header}\n{row}\n");
    let mut told = push(server, table, &text, &PushSheet::default()).await;
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
        let (told, what_to_do) = one(&server, SheetTable::Counts, COUNTS, &row).await;
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
    one(&server, SheetTable::Counts, COUNTS, &at("18", 4)).await;
    let (result, _) = one(&server, SheetTable::Counts, COUNTS, &at("17", 9)).await;
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
        let (told, what_to_do) = one(&server, SheetTable::Usage, USAGE, row).await;
        assert_eq!(told, result, "{row}: {what_to_do}");
        assert!(what_to_do.contains(words), "{row}: {what_to_do}");
    }
    let first = "d,2026-06-15T17:00:00-03:00,T1,collet-2.4,30,,,,took";
    let before = server.on_hand("collet-2.4").await;
    assert_eq!(
        one(&server, SheetTable::Usage, USAGE, first).await.0,
        "already in"
    );
    let other = first.replace(",30,", ",31,");
    let (told, why) = one(&server, SheetTable::Usage, USAGE, &other).await;
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
    let only_try = PushSheet {
        only_try: true,
        ..PushSheet::default()
    };
    let all_or_none = PushSheet {
        all_or_none: true,
        ..PushSheet::default()
    };
    let told = push(&server, SheetTable::Usage, &text, &only_try).await;
    assert_eq!(
        told.says,
        "2 rows: 1 in, 0 already in, 1 need you. Only tried: nothing has changed."
    );
    assert_eq!(used().await, before);
    let told = push(&server, SheetTable::Usage, &text, &all_or_none).await;
    assert_eq!(
        told.says,
        "2 rows: 0 in, 0 already in, 1 need you. All or none: nothing has changed."
    );
    assert_eq!(told.rows[0].result, "not in");
    assert_eq!(used().await, before);
    let told = push(&server, SheetTable::Usage, &text, &PushSheet::default()).await;
    assert_eq!(told.says, "2 rows: 1 in, 0 already in, 1 need you.");
    assert_eq!(used().await, before + 1);
    let good = text.replace("T9", "T1");
    let told = push(&server, SheetTable::Usage, &good, &all_or_none).await;
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

#[tokio::test(flavor = "multi_thread")]
async fn parts_are_set_up_once_and_a_size_that_became_a_date_is_never_guessed() {
    let server = shop().await;
    let text = "part,kind,class,diameter,length,family,renew_months\n\
                WCe20-1.6,electrode,WCe20,1/16 in,175 mm,,\n\
                collet-1.6,collet,,1.6 mm,standard,small,\n\
                rod,electrode,WLa20,2032-03-01,,,\n\
                rod-2,electrode,WLa20,\"2,4\",,,\n\
                collet-2.4,collet,,1.6 mm,standard,small,\n\
                ring,o-ring,,,,small,ten\n\
                ,o-ring,,,,small,\n";
    let told = push(&server, SheetTable::Parts, text, &PushSheet::default()).await;
    for (row, result, words) in [
        (0, "in", "set up: Electrode WCe20 1.6 mm"),
        (1, "in", "set up: Collet"),
        (
            2,
            "refused",
            "diameter: This looks like the fraction 3/32 turned into a date by the spreadsheet.",
        ),
        (
            3,
            "refused",
            "diameter: \"2,4\" has a comma and other rows a full stop; write 2.4",
        ),
        (4, "refused", "diameter 2.4 mm, here 1.6 mm"),
        (5, "refused", "renew_months: \"ten\" is not a number"),
        (6, "refused", "part: missing; fill it in"),
    ] {
        let row = &told.rows[row];
        assert!(row.what_to_do.contains(words), "{row:?}");
        assert_eq!(row.result, result, "{row:?}");
    }
    assert_eq!(told.says, "7 rows: 2 in, 0 already in, 5 need you.");
    let made = server.owner.get_part("WCe20-1.6").await.expect("a part");
    assert_eq!(made.diameter.as_deref(), Some("1.6 mm"));
    assert_eq!(made.marking.as_deref(), Some("1/16 in WCe20"));
    let told = push(&server, SheetTable::Parts, text, &PushSheet::default()).await;
    assert_eq!(told.says, "7 rows: 0 in, 2 already in, 5 need you.");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_price_list_brings_new_offers_and_new_prices() {
    let server = shop().await;
    let offers = server.owner.list_offers(&Page::default()).await;
    let known = offers.expect("offers").offers.remove(0);
    let (supplier, part, size) = (&known.supplier, &known.part, known.pack_size);
    let text = format!(
        "supplier,part,pack_size,price,currency,breaks\n\
         {supplier},{part},{size},99.50,CAD,2:90; 10:80.25\n\
         {supplier},{part},{other},99.50,,\n\
         {supplier},{part},{size},12.00,EUR,\n\
         {supplier},{part},{size},12.345,,\n\
         {supplier},{part},{size},12.00,,2-11.00\n\
         {supplier},48274,{size},12.00,,\n\
         nobody,{part},{size},12.00,,\n",
        other = size + 7
    );
    let told = push(&server, SheetTable::Offers, &text, &PushSheet::default()).await;
    assert_eq!(told.says, "7 rows: 2 in, 0 already in, 5 need you.");
    for (row, words) in [
        (0, ", now 99.50; the price breaks are new"),
        (2, "currency: EUR, but"),
        (3, "price: 12.345 is not an amount in CAD"),
        (4, "breaks: \"2-11.00\" is no price break; write 10:38.00"),
        (5, "turned into a date by the spreadsheet"),
        (6, "supplier: there is no supplier nobody"),
    ] {
        let row = &told.rows[row];
        assert!(row.what_to_do.contains(words), "{row:?}");
    }
    let now = server.owner.get_offer(known.id).await.expect("an offer");
    let breaks = now.breaks.iter().map(|it| (it.packs_min, it.price_minor));
    assert_eq!(now.price_minor, 9_950);
    assert_eq!(breaks.collect::<Vec<_>>(), [(2, 9_000), (10, 8_025)]);
    let told = push(&server, SheetTable::Offers, &text, &PushSheet::default()).await;
    assert_eq!(told.says, "7 rows: 0 in, 2 already in, 5 need you.");
    // A sheet without the column leaves the breaks as they are.
    let text = format!("supplier,part,pack_size,price\n{supplier},{part},{size},99\n");
    push(&server, SheetTable::Offers, &text, &PushSheet::default()).await;
    let now = server.owner.get_offer(known.id).await.expect("an offer");
    assert_eq!((now.price_minor, now.breaks.len()), (9_900, 2));
}

#[tokio::test(flavor = "multi_thread")]
async fn all_or_none_of_parts_sets_up_none_if_one_is_wrong() {
    let server = shop().await;
    let how = PushSheet {
        all_or_none: true,
        ..PushSheet::default()
    };
    let text = "part,kind,family\nring-a,o-ring,small\nring-b,ring,small\n";
    let told = push(&server, SheetTable::Parts, text, &how).await;
    assert_eq!(
        told.says,
        "2 rows: 0 in, 0 already in, 1 need you. All or none: nothing has changed."
    );
    assert!(server.owner.get_part("ring-a").await.is_err());
    let good = text.replace(",ring,", ",o-ring,");
    let told = push(&server, SheetTable::Parts, &good, &how).await;
    assert_eq!(told.says, "2 rows: 2 in, 0 already in, 0 need you.");
    assert!(server.owner.get_part("ring-b").await.is_ok());
}

#[tokio::test(flavor = "multi_thread")]
async fn the_columns_tell_the_table() {
    let server = shop().await;
    let how = PushSheet {
        only_try: true,
        ..PushSheet::default()
    };
    for (table, header) in [
        (SheetTable::Counts, COUNTS),
        (SheetTable::Usage, USAGE),
        (SheetTable::Receipts, "when,part,qty,lot"),
        (SheetTable::Courses, "heads,date,stations"),
        (SheetTable::Parts, "part,kind,class,diameter"),
        (SheetTable::Offers, "supplier,part,pack_size,price"),
    ] {
        let text = format!("a title above\n{header}\nx,y,z\n");
        let file = (text.into_bytes(), "text/csv");
        let told = server.owner.push_sheet_by_its_columns(file, &how).await;
        let told = told.expect("it is judged");
        assert_eq!((told.table, told.header), (table, 2), "{header}");
    }
    let file = (b"this,that\n1,2\n".to_vec(), "text/csv");
    let refused = server.owner.push_sheet_by_its_columns(file, &how).await;
    let refused = refused.expect_err("no table").to_string();
    for words in ["no table that is known", "this,that"] {
        assert!(refused.contains(words), "{refused}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_that_may_only_log_pushes_counts_and_use_and_nothing_else() {
    let server = shop().await;
    let helper = server.client(types::Role::Log);
    let file = |text: &str| (text.as_bytes().to_vec(), "text/csv");
    let how = PushSheet::default();
    for (table, text) in [
        (SheetTable::Receipts, "when,part,qty\n,collet-2.4,1\n"),
        (SheetTable::Parts, "part,kind,family\nring-a,o-ring,small\n"),
        (
            SheetTable::Courses,
            "date,heads,stations\n2026-10-03,10,5\n",
        ),
        (
            SheetTable::Offers,
            "supplier,part,pack_size,price\nnobody,collet-2.4,1,2.00\n",
        ),
    ] {
        for refused in [
            helper.push_sheet(table, file(text), &how).await,
            helper.push_sheet_by_its_columns(file(text), &how).await,
        ] {
            let refused = refused.expect_err("it may not");
            assert!(refused.is(types::ProblemKind::Forbidden), "{refused:?}");
        }
    }
    let text = format!("{COUNTS}\nx,,collet-2.4,3,2026-06-15T18:00:00-03:00,helper\n");
    let told = helper
        .push_sheet(SheetTable::Counts, file(&text), &how)
        .await;
    assert_eq!(told.expect("it may").rows[0].result, "in");
}

/// A sheet comes back in the form in which it came, and calamine reads in it what the API tells.
#[tokio::test(flavor = "multi_thread")]
async fn a_workbook_comes_back_as_a_workbook() {
    let server = shop().await;
    for (form, name) in [
        (SheetForm::Xlsx, "counts.xlsx"),
        (SheetForm::Ods, "counts.ods"),
    ] {
        let exported = server.owner.sheet_file(SheetName::Counts, form, &()).await;
        let exported = exported.expect("a workbook");
        let how = PushSheet {
            name: Some(name.to_owned()),
            only_try: true,
            ..PushSheet::default()
        };
        let file = (exported, "application/octet-stream");
        let told = server
            .owner
            .push_sheet(SheetTable::Counts, file.clone(), &how);
        let told = told.await.expect("it is judged");
        let back = server
            .owner
            .push_sheet_for_file(SheetTable::Counts, file, &how);
        let back = back.await.expect("a workbook");
        let cells = read_back(back);
        assert_eq!(cells[0].join("|"), told.says, "{name}");
        let mut columns = told.columns.clone();
        columns.extend(["result", "what to do"].map(str::to_owned));
        assert_eq!(cells[1], columns);
        assert_eq!(cells.len(), told.rows.len() + 2);
        let result = columns.len() - 2;
        for (cells, row) in cells.iter().skip(2).zip(&told.rows) {
            assert_eq!(cells[result], row.result);
        }
    }
}

/// The rows of the first sheet of a workbook, without what is empty at their ends.
fn read_back(bytes: Vec<u8>) -> Vec<Vec<String>> {
    let bytes = std::io::Cursor::new(bytes);
    let mut book = calamine::open_workbook_auto_from_rs(bytes).expect("a workbook");
    let range = book.worksheet_range_at(0).expect("a sheet").expect("cells");
    let rows = range.rows().map(|row| {
        let mut cells: Vec<String> = row.iter().map(ToString::to_string).collect();
        while cells.last().is_some_and(String::is_empty) {
            cells.pop();
        }
        cells
    });
    rows.collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_long_file_that_comes_in_parts_keeps_its_lines_and_its_ids() {
    let server = shop().await;
    let rows = |from: u32, to: u32| -> String {
        let row = |it| format!("2026-06-15T17:00:00-03:00,T1,,,{it}m,,,,\n");
        (from..to).map(row).collect()
    };
    let header = "when,torch,part,qty,arc,grinds,job,what,row_id\n";
    let whole = format!("{header}{}", rows(1, 7));
    let told = push(&server, SheetTable::Usage, &whole, &PushSheet::default()).await;
    assert_eq!(told.says, "6 rows: 6 in, 0 already in, 0 need you.");
    let part = format!("{header}{}", rows(4, 9));
    let how = PushSheet {
        from_line: Some(5),
        ..PushSheet::default()
    };
    let told = push(&server, SheetTable::Usage, &part, &how).await;
    assert_eq!(told.says, "5 rows: 2 in, 3 already in, 0 need you.");
    let lines: Vec<u64> = told.rows.iter().map(|row| row.line).collect();
    assert_eq!(lines, [5, 6, 7, 8, 9]);
}
