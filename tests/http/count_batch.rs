//! Counts by drawer, one by one and as a batch: what lies in several drawers is one count, a bad row
//! harms no other, and what is only tried changes nothing.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode};
use types::{CountBatch, CountOutcome, ListCounts, ProblemKind};

/// Drawer 3 holds electrodes, drawers 9 and 12 hold collets; of both the book says 0.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-07-06T18:00:00-03:00").await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    server.part(electrode("WLa20-1.6", "1.6 mm")).await;
    server.part(collet("collet-2.4")).await;
    for (code, part) in [
        ("3", "WLa20-2.4"),
        ("9", "collet-2.4"),
        ("12", "collet-2.4"),
    ] {
        let drawer = json!({"code": code, "parts": [part]});
        let made = server.ask("POST", "/v1/drawers").json(&drawer).send().await;
        assert_eq!(made.status, 201, "{}", made.text());
    }
    server
}

fn row(id: &str, drawer: &str, part: &str, counted: i64) -> Value {
    json!({"id": id, "drawer": drawer, "part": part, "counted": counted})
}

async fn send(server: &TestServer, rows: &[Value], only_try: bool) -> CountBatch {
    let batch = json!({"counts": rows, "try": only_try});
    let heard = server
        .ask("POST", "/v1/counts/batch")
        .json(&batch)
        .send()
        .await;
    assert_eq!(heard.status, 200, "{}", heard.text());
    heard.read()
}

fn results(batch: &CountBatch) -> Vec<(&str, &str)> {
    let rows = batch.rows.iter();
    rows.map(|row| (&*row.id, &*row.result)).collect()
}

/// What a row was refused for: the field and the words.
fn why(row: &CountOutcome) -> (&str, &str) {
    let problem = row.problem.as_ref().expect("it is refused");
    let told = &problem.violations[0];
    (&told.pointer, &told.detail)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_that_names_its_drawer_is_taken_if_the_part_lies_there_alone() {
    let server = shop().await;
    let body = json!({"part": "WLa20-2.4", "counted": 7, "drawer": "3"});
    let ask = server.ask("POST", "/v1/counts").once("one").json(&body);
    assert_eq!(ask.send().await.status, 201);
    assert_eq!(server.on_hand("WLa20-2.4").await, 7);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_in_a_wrong_drawer_is_told_what_is_right() {
    let server = shop().await;
    for (part, drawer, words) in [
        ("WLa20-2.4", "13", "no drawer 13; nearest: 3, 12"),
        ("WLa20-2.4", "attic", "no drawer attic; see the list"),
        (
            "WLa20-2.4",
            "9",
            "WLa20-2.4 does not lie in drawer 9; drawer 3: count it there",
        ),
        (
            "WLa20-1.6",
            "3",
            "lies in no drawer of shop; leave the drawer out",
        ),
        ("collet-2.4", "9", "drawer 12 too; one batch"),
        ("WLa20-2.4", "a b", "a b; letters"),
    ] {
        let body = json!({"part": part, "counted": 7, "drawer": drawer});
        let ask = server.ask("POST", "/v1/counts").once("one").json(&body);
        let problem = ask.send().await.problem(ProblemKind::Invalid);
        let told = &problem.violations[0];
        assert_eq!(told.pointer, "/drawer", "{problem:?}");
        for word in words.split("; ") {
            assert!(told.detail.contains(word), "{word}: {told:?}");
        }
    }
    let page = server.owner.list_counts(&ListCounts::default()).await;
    assert!(page.unwrap().counts.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn the_drawers_of_a_part_add_up_to_one_count() {
    let server = shop().await;
    let rows = [
        row("a", "9", "collet-2.4", 4),
        row("b", "3", "WLa20-2.4", 7),
        row("c", "12", "collet-2.4", 2),
    ];
    let told = send(&server, &rows, false).await;
    assert_eq!(told.says, "3 rows: 3 in, 0 already in, 0 need you.");
    assert_eq!(
        results(&told),
        [("a", "counted"), ("b", "counted"), ("c", "counted")]
    );
    let collets: Vec<_> = [0, 2]
        .into_iter()
        .map(|row: usize| told.rows[row].counted.as_ref().expect("it is in"))
        .collect();
    // 4 + 2 against a book of 0.
    assert_eq!((collets[0].counted, collets[0].variance), (6, 6));
    assert_eq!(collets[0], collets[1]);
    assert_eq!(server.on_hand("collet-2.4").await, 6);
    assert_eq!(server.on_hand("WLa20-2.4").await, 7);
    let page = server.owner.list_counts(&ListCounts::default()).await;
    assert_eq!(page.unwrap().counts.len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_batch_that_comes_again_is_already_in() {
    let server = shop().await;
    let rows = [
        row("a", "9", "collet-2.4", 4),
        row("b", "3", "WLa20-2.4", 7),
        row("c", "12", "collet-2.4", 2),
    ];
    let first = send(&server, &rows, false).await;
    server.set_clock("2026-07-06T18:05:00-03:00");
    server.take("collet-2.4", "one").await;
    let mut again = rows.to_vec();
    again.reverse();
    again.push(row("d", "3", "WLa20-2.4", 6));
    let told = send(&server, &again, false).await;
    assert_eq!(told.says, "4 rows: 1 in, 3 already in, 0 need you.");
    assert_eq!(told.rows[0].counted, first.rows[2].counted);
    assert_eq!(server.on_hand("collet-2.4").await, 5);
    assert_eq!(server.on_hand("WLa20-2.4").await, 6);
    // One of the two alone is known as well; by itself it would be partial.
    let told = send(&server, &rows[..1], false).await;
    assert_eq!(results(&told), [("a", "already in")]);
    // The same count sent alone, as a single one, is a repeat too.
    let body = json!({"part": "WLa20-2.4", "counted": 7, "drawer": "3"});
    let ask = server.ask("POST", "/v1/counts").once("b").json(&body);
    assert_eq!(ask.send().await.status, 201);
    assert_eq!(server.on_hand("WLa20-2.4").await, 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bad_row_harms_no_other() {
    let server = shop().await;
    let rows = [
        row("good", "3", "WLa20-2.4", 7),
        row("negative", "3", "WLa20-1.6", -1),
        row("half", "9", "collet-2.4", 4),
        row("nowhere", "31", "WLa20-2.4", 4),
        json!({"id": "unknown", "part": "collet-9.9", "counted": 1}),
        json!({"part": "WLa20-1.6", "counted": 2}),
        json!({"id": "attic", "part": "WLa20-1.6", "counted": 2, "site": "attic", "drawer": "3"}),
        json!({"id": "ahead", "part": "WLa20-1.6", "counted": 2, "at": "2026-07-07T18:00:00-03:00"}),
        json!({"id": "alone", "part": "WLa20-1.6", "counted": 2}),
    ];
    let told = send(&server, &rows, false).await;
    assert_eq!(told.says, "9 rows: 2 in, 0 already in, 7 need you.");
    for (index, pointer, words) in [
        (1, "/counted", "-1; negative"),
        (2, "/drawer", "drawer 12; missing from this batch"),
        (3, "/drawer", "31; nearest: 3"),
        (4, "/part", "collet-9.9; list of parts"),
        (5, "/id", "missing"),
        (6, "/site", "attic; list of sites"),
    ] {
        let told = why(&told.rows[index]);
        assert_eq!(told.0, pointer, "{told:?}");
        for word in words.split("; ") {
            assert!(told.1.contains(word), "{word}: {told:?}");
        }
    }
    assert_eq!(told.rows[7].result, "kept aside");
    assert!(told.rows[7].kept_aside.is_some(), "{told:?}");
    assert_eq!(server.on_hand("WLa20-2.4").await, 7);
    assert_eq!(server.on_hand("WLa20-1.6").await, 2);
    assert_eq!(server.on_hand("collet-2.4").await, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn drawers_that_are_counted_ahead_of_time_are_kept_aside_as_one() {
    let server = shop().await;
    let ahead = |id: &str, drawer: &str, counted: i64| {
        let mut row = row(id, drawer, "collet-2.4", counted);
        row["at"] = json!("2026-07-07T18:00:00-03:00");
        row
    };
    let rows = [ahead("a", "9", 4), ahead("b", "12", 2)];
    let told = send(&server, &rows, false).await;
    assert_eq!(told.says, "2 rows: 0 in, 0 already in, 2 need you.");
    let question = |row: usize| told.rows[row].kept_aside.as_ref().map(|it| it.question);
    assert_eq!(question(0), question(1));
    let again = send(&server, &rows, false).await;
    assert_eq!(again.rows, told.rows);
    let number = question(0).expect("it is asked about");
    let answer = json!({"answer": "as-received"});
    let ask = server.ask("POST", &format!("/v1/questions/{number}/answer"));
    let heard = ask.once("yes").json(&answer).send().await;
    assert_eq!(heard.status, 200, "{}", heard.text());
    assert_eq!(server.on_hand("collet-2.4").await, 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_only_tried_is_judged_alike_and_changes_nothing() {
    let server = shop().await;
    let rows = [
        row("a", "9", "collet-2.4", 4),
        row("b", "31", "WLa20-2.4", 7),
        row("c", "12", "collet-2.4", 2),
    ];
    let tried = send(&server, &rows, true).await;
    assert!(tried.only_tried);
    assert_eq!(
        tried.says,
        "3 rows: 2 in, 0 already in, 1 need you. Only tried: nothing has changed."
    );
    assert_eq!(server.on_hand("collet-2.4").await, 0);
    let page = server.owner.list_counts(&ListCounts::default()).await;
    assert!(page.unwrap().counts.is_empty());
    let done = send(&server, &rows, false).await;
    assert_eq!(results(&done), results(&tried));
    assert_eq!(server.on_hand("collet-2.4").await, 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_drawer_that_is_counted_twice_needs_a_person() {
    let server = shop().await;
    let rows = [
        row("a", "9", "collet-2.4", 4),
        row("b", "12", "collet-2.4", 2),
        row("c", "9", "collet-2.4", 5),
        row("d", "3", "WLa20-2.4", 7),
        row("e", "3", "wla20-2.4", 7),
    ];
    let told = send(&server, &rows, false).await;
    assert_eq!(told.refused, 5, "{told:?}");
    for (index, words) in [
        (0, "more than once"),
        (2, "more than once"),
        (1, "drawer 9 too"),
    ] {
        assert!(why(&told.rows[index]).1.contains(words), "{told:?}");
    }
    assert_eq!(server.on_hand("collet-2.4").await, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_id_that_comes_twice_is_a_repeat_or_refused() {
    let server = shop().await;
    let rows = [
        row("a", "3", "WLa20-2.4", 7),
        row("a", "3", "WLa20-2.4", 7),
        row("a", "3", "WLa20-2.4", 8),
        json!({"id": "b", "part": "none", "counted": 1}),
        json!({"id": "b", "part": "WLa20-1.6", "counted": 1}),
    ];
    let told = send(&server, &rows, false).await;
    let result: Vec<&str> = told.rows.iter().map(|row| &*row.result).collect();
    assert_eq!(
        result,
        ["counted", "already in", "refused", "refused", "refused"]
    );
    let problem = told.rows[2].problem.as_ref().expect("it is refused");
    assert_eq!(problem.slug(), ProblemKind::KeyReused.slug());
    assert_eq!(server.on_hand("WLa20-2.4").await, 7);
    assert_eq!(server.on_hand("WLa20-1.6").await, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn drawers_counted_on_different_days_do_not_add_up() {
    let server = shop().await;
    let at = |mut row: Value, at: &str| {
        row["at"] = json!(at);
        row
    };
    let yesterday = at(row("a", "9", "collet-2.4", 4), "2026-07-04T18:00:00-03:00");
    let today = at(row("b", "12", "collet-2.4", 2), "2026-07-06T17:00:00-03:00");
    let told = send(&server, &[yesterday, today.clone()], false).await;
    assert_eq!(told.refused, 2, "{told:?}");
    assert_eq!(why(&told.rows[0]).0, "/at");
    // Counted at four and at five, the sum stands at five: what was taken before is in it.
    let earlier = at(row("c", "9", "collet-2.4", 4), "2026-07-06T16:00:00-03:00");
    let body = json!({"what": "took", "part": "collet-2.4", "at": "2026-07-06T16:30:00-03:00"});
    server
        .ask("POST", "/v1/usage")
        .once("one")
        .json(&body)
        .send()
        .await;
    let told = send(&server, &[earlier, today], false).await;
    assert_eq!(told.recorded, 2, "{told:?}");
    assert_eq!(server.on_hand("collet-2.4").await, 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_batch_of_nothing_or_of_too_much_is_refused_as_a_whole() {
    let server = shop().await;
    let many: Vec<Value> = (0..1001)
        .map(|id| row(&id.to_string(), "3", "WLa20-2.4", 1))
        .collect();
    for rows in [&[][..], &many] {
        let batch = json!({ "counts": rows });
        let heard = server
            .ask("POST", "/v1/counts/batch")
            .json(&batch)
            .send()
            .await;
        let problem = heard.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, "/counts", "{problem:?}");
    }
}

/// Scenario S11, step 5: after a course each station's kit is counted, and a station is a drawer.
#[tokio::test(flavor = "multi_thread")]
async fn station_kits_of_a_school_are_counted_one_by_one_and_add_up() {
    let server = shop().await;
    let site = json!({"code": "tarnbridge", "zone": "America/Halifax"});
    server.ask("POST", "/v1/sites").json(&site).send().await;
    for station in 1..=6 {
        let kit = json!({
            "code": format!("station-{station}"),
            "site": "tarnbridge",
            "parts": ["WLa20-2.4", "collet-2.4"],
        });
        let made = server.ask("POST", "/v1/drawers").json(&kit).send().await;
        assert_eq!(made.status, 201, "{}", made.text());
    }
    let mut rows = Vec::new();
    for station in 1..=6 {
        for (part, counted) in [("WLa20-2.4", station), ("collet-2.4", 1)] {
            rows.push(json!({
                "id": format!("{station}-{part}"), "site": "tarnbridge",
                "drawer": format!("station-{station}"), "part": part, "counted": counted,
            }));
        }
    }
    let told = send(&server, &rows, false).await;
    assert_eq!(told.says, "12 rows: 12 in, 0 already in, 0 need you.");
    let stock: Value = server
        .ask("GET", "/v1/stock?site=tarnbridge")
        .send()
        .await
        .read();
    let on_hand = |index: usize| stock["stock"][index]["on_hand"].as_i64();
    // 1 + 2 + 3 + 4 + 5 + 6 electrodes, six collets; by code the collet comes first.
    assert_eq!((on_hand(0), on_hand(2)), (Some(6), Some(21)), "{stock}");
    assert_eq!(server.on_hand("collet-2.4").await, 0);
}
